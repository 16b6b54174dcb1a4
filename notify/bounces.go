package notify

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"ventdue/desk"
	"ventdue/notify/mail"
	"ventdue/notify/mail/report"
	"ventdue/vent"
)

// errNoMail says that something is no mail at all.
var errNoMail = errors.New("this is no mail")

// TakeReport reads one mail that came to the address for bounces and takes down what it says, once for each recipient.
// It is report.ErrNone for a mail that is no report, and vent.ErrNotFound for one about nothing that was sent from here. See
// NoReport.
func TakeReport(d *desk.Desk, by desk.By, marks desk.ReturnMarks, in io.Reader) (taken []desk.ReturnTaken, err error) {
	r, err := report.Read(in)
	if errors.Is(err, report.ErrNone) {
		return nil, err
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errNoMail, err)
	}
	all := returnsOf(r)
	var missing error
	for _, x := range all {
		t, err := d.TakeReturn(by, marks, x)
		switch {
		case errors.Is(err, vent.ErrNotFound):
			missing = err
		case err != nil:
			return taken, fmt.Errorf("take a report: %w", err)
		default:
			taken = append(taken, t)
		}
	}
	if len(taken) == 0 {
		return nil, missing
	}
	return taken, nil
}

// NoReport reports whether TakeReport found a mail that is no report, or no mail at all: nothing to take, and nothing wrong
// here.
func NoReport(err error) bool { return errors.Is(err, report.ErrNone) || errors.Is(err, errNoMail) }

// returnsOf turns a report into what the desk asks: each recipient by itself.
func returnsOf(r report.Report) (all []desk.Return) {
	base := desk.Return{Kind: vent.ReturnKind(r.Kind), MailIDs: r.MessageIDs}
	for _, a := range r.SentTo {
		if id, ok := mail.EnvelopeID(a); ok {
			base.Marks = append(base.Marks, id)
		}
	}
	for _, to := range r.Recipients {
		x := base
		x.Dead, x.Why, x.Addresses = to.BlamesAddress(), to.Why, []string{to.Address}
		if to.Action != report.Complaint {
			x.Kind = vent.ReturnKind(to.Action)
		}
		if to.Original != "" && to.Original != to.Address {
			x.Addresses = append(x.Addresses, to.Original)
		}
		all = append(all, x)
	}
	if len(all) == 0 {
		base.Why = string(r.Kind)
		all = append(all, base)
	}
	return all
}

// BounceTally counts what became of the mails in a folder.
type BounceTally struct {
	Taken   int // reports about messages from here
	Foreign int // reports about nothing that was sent from here
	Unclear int // mails that are no reports: somebody should read them
}

// mostAtOnce is how many mails one pass through a folder looks at.
const mostAtOnce = 500

// TakeMaildir takes the new mails of a Maildir and moves each to the folder of those that were looked at: marked as read where
// it was a report, unread where a person should look. Killed in between, it takes a report twice, which changes nothing.
func TakeMaildir(ctx context.Context, d *desk.Desk, by func() desk.By, marks desk.ReturnMarks, dir string) (n BounceTally, err error) {
	entries, err := os.ReadDir(filepath.Join(dir, "new"))
	if err != nil {
		return n, fmt.Errorf("look through the bounces: %w; mail.bounces must name a Maildir", err)
	}
	if err := os.MkdirAll(filepath.Join(dir, "cur"), 0o700); err != nil {
		return n, fmt.Errorf("look through the bounces: %w", err)
	}
	for _, e := range entries[:min(len(entries), mostAtOnce)] {
		if ctx.Err() != nil || !e.Type().IsRegular() {
			continue
		}
		from := filepath.Join(dir, "new", e.Name())
		flags, err := takeFile(d, by(), marks, from, &n)
		if err != nil {
			return n, err
		}
		name, _, _ := strings.Cut(e.Name(), ":")
		if err := os.Rename(from, filepath.Join(dir, "cur", name+flags)); err != nil {
			return n, fmt.Errorf("look through the bounces: %w", err)
		}
	}
	return n, nil
}

// takeFile takes one mail, counts it, and gives the flags it gets.
func takeFile(d *desk.Desk, by desk.By, marks desk.ReturnMarks, path string, n *BounceTally) (flags string, err error) {
	const read, unread = ":2,S", ":2,"
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("look through the bounces: %w", err)
	}
	defer f.Close()
	_, err = TakeReport(d, by, marks, f)
	switch {
	case err == nil:
		n.Taken++
		return read, nil
	case errors.Is(err, vent.ErrNotFound):
		n.Foreign++
		return read, nil
	case NoReport(err):
		n.Unclear++
		return unread, nil
	}
	return "", err
}
