// Package postfixtest runs a private Postfix for a test: a real mail server that listens on a loopback port,
// delivers every address of its domains into Maildirs, and has no way to send anything anywhere else.
//
// Postfix wants its configuration below /etc and its parts run as several users, so it needs root. Queue,
// data, mailboxes and log are in a folder of their own; a system's own Postfix is not touched.
package postfixtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"text/template"
	"time"

	"ventdue/notify/mail/smtptest"
)

// Domains are the ones the server takes mail for. A local part that begins with "unknown" does not exist, and mail to it is
// refused; one that begins with "removed" is taken and then comes back; every other one exists. Mail to any other
// domain is refused.
var Domains = []string{"example.com", "example.org", "example.net"}

// Server is a running Postfix. It stops when the test ends.
type Server struct {
	Addr      string              // host:port, SMTP with STARTTLS offered
	Authority *smtptest.Authority // of its certificate for localhost and 127.0.0.1

	config, root string
}

// Start runs a server until the test ends. Without root or Postfix the test is skipped, or fails where
// VENTDUE_REQUIRE_TOOLS is 1.
func Start(tb testing.TB) *Server {
	tb.Helper()
	if why := missing(); why != "" {
		if os.Getenv("VENTDUE_REQUIRE_TOOLS") == "1" {
			tb.Fatalf("postfix cannot be run (%s) and VENTDUE_REQUIRE_TOOLS=1", why)
		}
		tb.Skipf("postfix cannot be run: %s", why)
	}
	s, err := create()
	if s != nil {
		tb.Cleanup(func() { s.remove(tb) })
	}
	if err == nil {
		err = s.run("start")
	}
	if err == nil {
		err = s.ready()
	}
	if err != nil {
		tb.Fatalf("start postfix: %v\n%s", err, s.Log())
	}
	return s
}

func missing() string {
	if os.Getuid() != 0 {
		return "not root"
	}
	for _, name := range []string{"postfix", "postconf"} {
		if _, err := exec.LookPath(name); err != nil {
			return name + " is missing"
		}
	}
	if _, err := user.Lookup("postfix"); err != nil {
		return "there is no user postfix"
	}
	return ""
}

// create lays out the folders and the configuration.
func create() (*Server, error) {
	s := &Server{}
	var err error
	if s.config, err = os.MkdirTemp("/etc", "postfix-ventdue-test-"); err != nil {
		return nil, err
	}
	if s.root, err = os.MkdirTemp("/var/tmp", "postfix-ventdue-test-"); err != nil {
		return s, err
	}
	if s.Authority, err = smtptest.NewAuthority("localhost", "127.0.0.1"); err != nil {
		return s, err
	}
	if s.Addr, err = freeAddr(); err != nil {
		return s, err
	}
	if err := s.folders(); err != nil {
		return s, err
	}
	return s, s.configure()
}

// freeAddr returns a loopback address nobody listens on at the moment.
func freeAddr() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	defer l.Close()
	return l.Addr().String(), nil
}

func (s *Server) folders() error {
	for name, owner := range map[string]string{"queue": "root", "data": "postfix", "mail": "nobody"} {
		dir := filepath.Join(s.root, name)
		if err := os.Mkdir(dir, 0o755); err != nil {
			return err
		}
		u, err := user.Lookup(owner)
		if err != nil {
			return err
		}
		uid, err := strconv.Atoi(u.Uid)
		if err != nil {
			return err
		}
		if err := os.Chown(dir, uid, 0); err != nil {
			return err
		}
	}
	// MkdirTemp makes both folders private; the parts of Postfix run as other users.
	for _, dir := range []string{s.root, s.config} {
		if err := os.Chmod(dir, 0o755); err != nil {
			return err
		}
	}
	return nil
}

func (s *Server) configure() error {
	nobody, err := user.Lookup("nobody")
	if err != nil {
		return err
	}
	var main bytes.Buffer
	if err := mainCF.Execute(&main, map[string]any{
		"Config": s.config, "Root": s.root, "Domains": strings.Join(Domains, " "), "Uid": nobody.Uid, "Gid": nobody.Gid,
	}); err != nil {
		return err
	}
	files := map[string][]byte{
		// One Maildir for all: one for each address would make folder names of what the network says.
		"mailboxes": []byte("!/^unknown/ all/\n"),
		"transport": []byte("/^removed/ removed:\n"),
		"main.cf":   main.Bytes(),
		"master.cf": []byte(fmt.Sprintf(masterCF, s.Addr)),
		"cert.pem":  append(append([]byte{}, s.Authority.Key...), s.Authority.Cert...),
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(s.config, name), data, 0o644); err != nil {
			return err
		}
	}
	return os.Chmod(filepath.Join(s.config, "cert.pem"), 0o600)
}

var mainCF = template.Must(template.New("main.cf").Parse(`compatibility_level = 3.6
config_directory = {{.Config}}
queue_directory = {{.Root}}/queue
data_directory = {{.Root}}/data
maillog_file = {{.Root}}/log
maillog_file_prefixes = {{.Root}}
syslog_name = postfix-ventdue-test
myhostname = postfix.example
mydomain = example
myorigin = example
mydestination =
mynetworks = 127.0.0.0/8
inet_interfaces = 127.0.0.1
inet_protocols = ipv4
alias_maps =
alias_database =
local_recipient_maps =
virtual_mailbox_domains = {{.Domains}}
virtual_mailbox_base = {{.Root}}/mail
virtual_mailbox_maps = regexp:{{.Config}}/mailboxes
transport_maps = regexp:{{.Config}}/transport
virtual_mailbox_limit = 0
virtual_minimum_uid = 1
virtual_uid_maps = static:{{.Uid}}
virtual_gid_maps = static:{{.Gid}}
smtpd_relay_restrictions = reject_unauth_destination
smtpd_recipient_restrictions =
smtpd_tls_security_level = may
smtpd_tls_chain_files = {{.Config}}/cert.pem
smtpd_client_connection_rate_limit = 0
smtpd_peername_lookup = no
smtp_host_lookup = native
local_transport = error:5.1.2 this server delivers to its own mailboxes only
relay_transport = error:5.1.2 this server delivers to its own mailboxes only
default_transport = error:5.1.2 this server delivers to its own mailboxes only
`))

// masterCF has no smtp client, local, pipe or pickup service: what is not here cannot happen.
const masterCF = `%s  inet  n - n - -    smtpd
cleanup   unix  n - n - 0    cleanup
qmgr      unix  n - n 300 1  qmgr
tlsmgr    unix  - - n 1000? 1 tlsmgr
rewrite   unix  - - n - -    trivial-rewrite
bounce    unix  - - n - 0    bounce
defer     unix  - - n - 0    bounce
trace     unix  - - n - 0    bounce
proxymap  unix  - - n - -    proxymap
error     unix  - - n - -    error
retry     unix  - - n - -    error
virtual   unix  - n n - -    virtual
removed   unix  - n n - -    virtual -o virtual_mailbox_maps=
anvil     unix  - - n - 1    anvil
postlog   unix-dgram n - n - 1 postlogd
`

// run gives the server a command of postfix(1).
func (s *Server) run(command string) error {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, "postfix", "-c", s.config, command).CombinedOutput()
	if err != nil {
		return fmt.Errorf("postfix %s: %w: %s", command, err, out)
	}
	return nil
}

// ready returns when the server listens: "postfix start" returns only then, so one try is enough.
func (s *Server) ready() error {
	conn, err := net.DialTimeout("tcp", s.Addr, 10*time.Second)
	if err != nil {
		return err
	}
	return conn.Close()
}

// remove stops the server, waits for its end, and clears its folders.
func (s *Server) remove(tb testing.TB) {
	if err := s.run("stop"); err != nil && s.run("status") == nil {
		tb.Errorf("stop: %v\n%s", err, s.Log())
		return
	}
	for _, dir := range []string{s.config, s.root} {
		if dir == "" {
			continue
		}
		if err := os.RemoveAll(dir); err != nil {
			tb.Errorf("clear up after postfix: %v", err)
		}
	}
}

// Log returns what the server has logged.
func (s *Server) Log() string {
	if s == nil || s.root == "" {
		return ""
	}
	log, err := os.ReadFile(filepath.Join(s.root, "log"))
	if err != nil {
		return err.Error()
	}
	return string(log)
}

// Mailbox returns the messages delivered so far, with the fields Postfix puts in front (Return-Path,
// X-Original-To, Delivered-To, Received). Lines end in \n, as on any disk of its kind.
func (s *Server) Mailbox() ([][]byte, error) {
	var messages [][]byte
	err := filepath.WalkDir(filepath.Join(s.root, "mail"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Base(filepath.Dir(path)) == "tmp" {
			return err
		}
		raw, err := os.ReadFile(path)
		messages = append(messages, raw)
		return err
	})
	return messages, err
}

// Delivered counts the messages delivered so far.
func (s *Server) Delivered() (n int, err error) {
	for _, sub := range []string{"new", "cur"} {
		entries, err := os.ReadDir(filepath.Join(s.root, "mail", "all", sub))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return n, err
		}
		n += len(entries)
	}
	return n, nil
}

// Wait returns the messages once at least n have been delivered, or an error when ctx ends first: what a
// mail server accepted, it delivers in its own time.
func (s *Server) Wait(ctx context.Context, n int) ([][]byte, error) {
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		count, err := s.Delivered()
		if err != nil || count >= n {
			messages, readErr := s.Mailbox()
			return messages, errors.Join(err, readErr)
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return nil, fmt.Errorf("%d of %d messages delivered: %w\n%s", count, n, ctx.Err(), s.Log())
		}
	}
}
