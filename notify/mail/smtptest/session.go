package smtptest

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"encoding/base64"
	"errors"
	"net"
	"strings"
	"time"
)

// session is one connection. Methods return an error when it is over.
type session struct {
	*Server
	conn   net.Conn
	in     *bufio.Reader
	number int
	secure bool
	user   string

	begun          bool // MAIL was taken
	from, to, more string
}

var errOver = errors.New("session is over")

func (s *Server) handle(conn net.Conn, number int) {
	c := &session{Server: s, conn: conn, in: bufio.NewReader(conn), number: number}
	if s.opts.ImplicitTLS && c.upgrade() != nil {
		return
	}
	if c.at(Connect, "220 smtptest.example ESMTP") != nil {
		return
	}
	for {
		line, err := c.readLine()
		if err != nil {
			return
		}
		if c.command(line) != nil {
			return
		}
	}
}

func (c *session) readLine() (string, error) {
	line, err := c.in.ReadString('\n')
	return strings.TrimRight(line, "\r\n"), err
}

func (c *session) reply(lines ...string) error {
	if len(lines) == 0 {
		return nil
	}
	_, err := c.conn.Write([]byte(strings.Join(lines, "\r\n") + "\r\n"))
	return err
}

// at lets a fault strike at the stage, or gives the usual answer.
func (c *session) at(stage Stage, usual ...string) error {
	_, err := c.struck(stage, usual...)
	return err
}

// struck is at, and tells whether a fault took the place of the usual answer.
func (c *session) struck(stage Stage, usual ...string) (bool, error) {
	return c.play(c.strike(stage, c.to), usual...)
}

// play acts out a fault, or gives the usual answer (none where usual is empty).
func (c *session) play(f *Fault, usual ...string) (hit bool, err error) {
	if f != nil && f.Delay > 0 && !c.wait(f.Delay) {
		return true, errOver
	}
	if f.harmless() {
		return false, c.reply(usual...)
	}
	if f.Hang {
		<-c.done
		return true, errOver
	}
	if f.Reply != "" {
		err = c.reply(f.Reply)
	}
	if f.Drop {
		err = errOver
	}
	return true, err
}

// wait returns false when the server was closed meanwhile.
func (c *session) wait(d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-c.done:
		return false
	}
}

func (c *session) command(line string) error {
	verb, arg, _ := strings.Cut(line, " ")
	verb = strings.ToUpper(verb)
	if verb == "AUTH" {
		way, _, _ := strings.Cut(arg, " ")
		c.note("AUTH " + way)
		return c.auth(arg)
	}
	c.note(line)
	switch verb {
	case "EHLO", "HELO":
		c.begun = false
		return c.at(Hello, c.greeting(verb == "EHLO")...)
	case "STARTTLS":
		return c.startTLS()
	case "MAIL":
		return c.mail(arg)
	case "RCPT":
		return c.rcpt(arg)
	case "DATA":
		return c.data()
	case "RSET":
		c.begun, c.to = false, ""
		return c.at(Reset, "250 2.0.0 reset")
	case "NOOP":
		return c.reply("250 2.0.0 nothing done")
	case "QUIT":
		_ = c.reply("221 2.0.0 bye")
		return errOver
	}
	return c.reply("500 5.5.1 unknown command")
}

func (c *session) greeting(extended bool) []string {
	if !extended {
		return []string{"250 smtptest.example"}
	}
	lines := []string{"smtptest.example", "ENHANCEDSTATUSCODES"}
	if c.opts.OfferTLS && !c.secure {
		lines = append(lines, "STARTTLS")
	}
	if c.opts.User != "" && (c.secure || !c.opts.RequireTLS) {
		lines = append(lines, "AUTH "+c.opts.AuthWays)
	}
	if !c.opts.No8BITMIME {
		lines = append(lines, "8BITMIME")
	}
	if !c.opts.NoSMTPUTF8 {
		lines = append(lines, "SMTPUTF8")
	}
	for i := range lines {
		lines[i] = "250-" + lines[i]
	}
	return append(lines, "250 HELP")
}

func (c *session) startTLS() error {
	if !c.opts.OfferTLS || c.secure {
		return c.reply("502 5.5.1 not offered")
	}
	if hit, err := c.struck(StartTLS, "220 2.0.0 go ahead"); hit || err != nil {
		return err
	}
	return c.upgrade()
}

func (c *session) upgrade() error {
	secure := tls.Server(c.conn, c.tls)
	if err := secure.Handshake(); err != nil {
		return err
	}
	c.conn, c.in, c.secure = secure, bufio.NewReader(secure), true
	return nil
}

func (c *session) auth(arg string) error {
	way, initial, _ := strings.Cut(arg, " ")
	var user, pass string
	switch strings.ToUpper(way) {
	case "PLAIN":
		secret, err := c.secret(initial, "")
		if err != nil {
			return err
		}
		if parts := strings.Split(secret, "\x00"); len(parts) == 3 {
			user, pass = parts[1], parts[2]
		}
	case "LOGIN":
		var err error
		if user, err = c.secret(initial, "VXNlcm5hbWU6"); err != nil {
			return err
		}
		if pass, err = c.secret("", "UGFzc3dvcmQ6"); err != nil {
			return err
		}
	default:
		return c.reply("504 5.5.4 unknown way to log in")
	}
	if c.opts.User == "" || user != c.opts.User || pass != c.opts.Pass {
		return c.reply("535 5.7.8 user name or password is wrong")
	}
	hit, err := c.struck(Auth, "235 2.7.0 welcome")
	if !hit {
		c.user = user
	}
	return err
}

// secret decodes what came with the command, or asks for it.
func (c *session) secret(given, prompt string) (string, error) {
	if given == "" {
		if err := c.reply(strings.TrimRight("334 "+prompt, " ")); err != nil {
			return "", err
		}
		var err error
		if given, err = c.readLine(); err != nil {
			return "", err
		}
	}
	plain, _ := base64.StdEncoding.DecodeString(given)
	return string(plain), nil
}

func (c *session) mail(arg string) error {
	switch {
	case c.opts.RequireTLS && !c.secure:
		return c.reply("530 5.7.0 must issue STARTTLS first")
	case c.opts.User != "" && c.user == "":
		return c.reply("530 5.7.0 authentication required")
	case c.begun:
		return c.reply("503 5.5.1 nested MAIL")
	}
	from, params, ok := parsePath(arg, "FROM:")
	if !ok {
		return c.reply("501 5.5.4 syntax: MAIL FROM:<address>")
	}
	c.to = ""
	hit, err := c.struck(Mail, "250 2.1.0 ok")
	if !hit {
		c.begun, c.from, c.more = true, from, params
	}
	return err
}

func (c *session) rcpt(arg string) error {
	to, _, ok := parsePath(arg, "TO:")
	switch {
	case !c.begun:
		return c.reply("503 5.5.1 MAIL first")
	case !ok:
		return c.reply("501 5.1.3 syntax: RCPT TO:<address>")
	case c.to != "":
		return c.reply("452 4.5.3 one recipient at a time")
	}
	c.to = to
	hit, err := c.struck(Rcpt, "250 2.1.5 ok")
	if hit {
		c.to = ""
	}
	return err
}

func parsePath(arg, prefix string) (path, params string, ok bool) {
	if len(arg) < len(prefix) || !strings.EqualFold(arg[:len(prefix)], prefix) {
		return "", "", false
	}
	rest, found := strings.CutPrefix(arg[len(prefix):], "<")
	end := strings.LastIndexByte(rest, '>')
	if !found || end < 0 {
		return "", "", false
	}
	return rest[:end], strings.TrimSpace(rest[end+1:]), true
}

func (c *session) data() error {
	if c.to == "" {
		return c.reply("503 5.5.1 RCPT first")
	}
	if hit, err := c.struck(Data, "354 go ahead, end with a dot"); hit || err != nil {
		return err
	}
	raw, err := c.content()
	if err != nil {
		return err
	}
	f := c.strike(Dot, c.to)
	if f.harmless() || f.Keep {
		// Kept before it is answered: from here on the sender's not knowing makes a copy.
		c.keep(Message{From: c.from, To: c.to, Params: c.more, Raw: raw, TLS: c.secure, User: c.user, Conn: c.number})
	}
	c.begun, c.to = false, ""
	_, err = c.play(f, "250 2.0.0 taken")
	return err
}

// content reads to the final dot and takes the stuffing off; nothing else is changed.
func (c *session) content() ([]byte, error) {
	var raw bytes.Buffer
	for first := true; ; first = false {
		line, err := c.in.ReadBytes('\n')
		if err != nil {
			return nil, err
		}
		if first {
			if _, err := c.struck(Body); err != nil {
				return nil, err
			}
		}
		if string(line) == ".\r\n" {
			return raw.Bytes(), nil
		}
		raw.Write(bytes.TrimPrefix(line, []byte(".")))
	}
}
