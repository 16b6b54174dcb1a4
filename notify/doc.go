// Package notify is all that leaves the house: calendars that are pulled and mails that are pushed.
//
// The obligations live in the store and are kept by the desk; here they become bytes and go over a wire.
//
// A calendar is a pure function of stored rows (publish.go): no present time is in it, so that an unchanged feed keeps
// its bytes and its ETag, and a poll costs a look into memory (feed.go). Readers believe what they get: an answer is whole
// or an error, never a calendar with something missing.
//
// A mail is written by Sender (reminder.go) inside the transaction that stores the attempt, and handed over by Outbox
// (outbox.go). Its promise is "at least once": a second copy goes out only where the server's answer, or our record of it,
// was lost, and then it is the same bytes under the same Message-ID.
package notify
