// Package smtptest is an SMTP server for tests: it listens on the loopback address, keeps what it accepts in
// memory, and misbehaves on request. It is written on the bare protocol, without the libraries that the
// sending side uses, so that a misunderstanding of theirs is not shared.
package smtptest
