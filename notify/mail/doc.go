// Package mail turns a plain [Letter] into an Internet message and carries it.
//
// It knows no nouns of the job. The path of one message is
//
//	Letter -> Seal (Compose, sign) -> Job (frozen bytes) -> Deliver over a Carrier -> Outcome
//
// A [Job] is frozen: a retry sends the same bytes under the same Message-ID. [Deliver] sends one job at a
// time and hands its outcome to the caller's settle function before anything else goes over the same
// connection, so that a crash loses at most one answer per open connection.
//
// # Why two libraries
//
// go-mail composes the MIME text and, in its smtp package, greets, starts TLS and logs in: there every
// failure means the same thing (nothing was sent, it is about us). The transaction itself, MAIL to the
// reply after the final dot, is spoken by this package on the same connection, because what matters there
// is exactly where a connection broke. go-mail's own Client and Data().Close() do not tell a failure to
// send the final dot from a lost answer to it, re-encode the message at every try, and ask for SMTPUTF8
// whenever a server offers it; emersion/go-smtp's client says "EHLO localhost" before STARTTLS whatever
// name it is given and writes the content without a deadline.
package mail
