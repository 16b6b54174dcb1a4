// Package vent holds the nouns of the trade: who owns which dryers and exhaust vent runs, what was found in
// them, and what follows from it. It says what exists and what can validly be said of it; it decides nothing,
// stores nothing and has no clock.
//
// One word for one thing, here and on every page: operator, person, customer, site, unit, appliance, run,
// version, reading, finding, sign, fault, check, due, visit, appointment, notice, message, feed, account, token.
//
// # Stored form
//
// The structs carry two sets of tags. `json` names are the exported form, `cbor` numbers the stored form.
// A number is for ever: a field may be added with a new number, a number is never used again for
// something else and a field never changes its type. Anything else is a new layout (see store).
package vent
