// Package due turns a belief about one run into days: when it must be looked at, when it must be opened and
// cleaned, within which window, and which bound set the day where the computed one did not stand.
//
// It knows nothing of lint: the chance of being past the limit comes in as a function of the day. It has no clock:
// "now" does not exist here, what is due at once is due on the day of the fact that made it so.
package due
