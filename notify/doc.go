// Package notify is all that leaves the house: calendars that are pulled and mails that are pushed.
//
// The obligations live in the store and are kept by the desk; here they become bytes and go over a wire.
package notify
