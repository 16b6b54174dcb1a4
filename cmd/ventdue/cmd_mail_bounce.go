package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/notify"
	"ventdue/vent"
)

// maxBounce is as much of a mail as is sent to the daemon: more is not looked at there either.
const maxBounce = 2 << 20

func (a *app) mailBounceCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "bounce [FILE|FOLDER|-]", Short: "Take down mail that came back",
		Long: `Take down mail that came back: reports that a mail could not be delivered (RFC 3464, and the plain forms of servers that write none),
and complaints of mail providers (RFC 5965). Without a name, or with -, one mail is read from standard input, as from a mail
server's alias. Of a folder every file is read, of a Maildir those in new and cur; nothing in it is changed.

A mail that came back for good ends mail to a dead address until the person has another. A complaint is a no to all reminders. A
report counts only where it carries the signed mark of the message's return path, or its Message-ID with the address.

The daemon looks through a Maildir by itself where mail.bounces names it.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usage("it takes one file or folder, %d given", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			files, err := a.bounceFiles(args)
			if err != nil {
				return err
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				all := []bounceAnswer{}
				for _, f := range files {
					got, err := a.takeBounce(ctx, o, f)
					if err != nil {
						return fmt.Errorf("%s: %w", f, err)
					}
					if all = append(all, got); !asJSON {
						got.print(a.Out)
					}
				}
				if asJSON {
					return printJSON(a.Out, all)
				}
				return nil
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

// bounceFiles lists what is to be read; "-" is standard input.
func (a *app) bounceFiles(args []string) ([]string, error) {
	if len(args) == 0 || args[0] == "-" {
		return []string{"-"}, nil
	}
	info, err := os.Stat(args[0])
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return args, nil
	}
	folders := []string{args[0]}
	if sub, err := os.Stat(filepath.Join(args[0], "new")); err == nil && sub.IsDir() {
		folders = []string{filepath.Join(args[0], "new"), filepath.Join(args[0], "cur")}
	}
	var files []string
	for _, dir := range folders {
		entries, err := os.ReadDir(dir)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
		for _, e := range entries {
			if e.Type().IsRegular() {
				files = append(files, filepath.Join(dir, e.Name()))
			}
		}
	}
	return files, nil
}

func (a *app) takeBounce(ctx context.Context, o call.Office, file string) (bounceAnswer, error) {
	in := a.In
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return bounceAnswer{}, err
		}
		defer f.Close()
		in = f
	}
	got, err := call.Ask[bounceAnswer](ctx, o, opMailBounce, noArgs{}, io.LimitReader(in, maxBounce))
	got.File = file
	return got, err
}

// bounceAnswer is what one mail said.
type bounceAnswer struct {
	File  string             `json:"file"`
	Taken []desk.ReturnTaken `json:"taken"`
	// Left says why nothing was taken; "" where something was.
	Left string `json:"left,omitempty"`
}

func (h *house) askBounce(_ context.Context, r call.Request, _ noArgs) (bounceAnswer, error) {
	marks, err := h.desk.ReturnMarks(by(r))
	if err != nil {
		return bounceAnswer{}, err
	}
	taken, err := notify.TakeReport(h.desk, by(r), marks, r.In)
	out := bounceAnswer{Taken: append([]desk.ReturnTaken{}, taken...)}
	switch {
	case notify.NoReport(err):
		out.Left, err = "no report: somebody should read it", nil
	case errors.Is(err, vent.ErrNotFound):
		out.Left, err = "a report about nothing that was sent from here, or one that cannot prove it", nil
	}
	return out, err
}

func (b bounceAnswer) print(out io.Writer) {
	for _, t := range b.Taken {
		what := "noted"
		switch {
		case t.Known:
			what = "known already"
		case t.Ended && t.Kind == vent.ReturnedComplaint:
			what = "no more reminders go to this person"
		case t.Ended:
			what = "no more mail goes to this address until the person has another"
		}
		fmt.Fprintf(out, "%s: mail to %s %s: %s. %s\n", plain(b.File), plain(t.To), t.Kind, what, plain(t.Why))
	}
	if b.Left != "" {
		fmt.Fprintf(out, "%s: %s\n", plain(b.File), b.Left)
	}
}
