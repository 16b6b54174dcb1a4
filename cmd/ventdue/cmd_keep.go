package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/store"
	"ventdue/vent"
)

const backupStamp = "20060102-150405"

func backupName(now time.Time) string { return "ventdue-" + now.UTC().Format(backupStamp) + ".db" }

// pruneBackups removes the oldest of the copies that the daemon made itself, beyond keep.
func pruneBackups(dir string, keep int) error {
	found, err := filepath.Glob(filepath.Join(dir, "ventdue-????????-??????.db"))
	if err != nil || len(found) <= keep {
		return err
	}
	slices.Sort(found)
	for _, f := range found[:len(found)-keep] {
		if err := os.Remove(f); err != nil {
			return fmt.Errorf("remove old backup: %w", err)
		}
	}
	return nil
}

func (a *app) backupCmd() *cobra.Command {
	var args backupArgs
	c := &cobra.Command{Use: "backup", Short: "Copy the data file and the photos while work goes on", Args: exactly(),
		Long: "Copy the data file into the backup folder (backup.dir) while work goes on, and the photos that are not there yet into the folder photos beside it.",
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[backupAnswer](ctx, o, opBackup, args, nil)
				if err == nil {
					fmt.Fprintln(a.Out, got.File)
				}
				return err
			})
		}}
	c.Flags().StringVar(&args.Name, "name", "", "file name inside the backup folder (default: made from the time)")
	return c
}

func (a *app) verifyCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "verify", Short: "Check the whole data file and the photos: pages, records, indexes, references, check sums", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[verifyAnswer](ctx, o, opVerify, noArgs{}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					if err := printJSON(a.Out, got); err != nil {
						return err
					}
				} else {
					printVerified(a, got)
				}
				if n := len(got.PhotoProblems); n > 0 {
					return fmt.Errorf("photos are missing or damaged (%d): put them back from the folder photos beside a backup", n)
				}
				if len(got.Problems) > 0 {
					return fmt.Errorf("the data file has %d problems: restore a backup with `ventdue restore`", len(got.Problems)+got.More)
				}
				return nil
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func printVerified(a *app, got verifyAnswer) {
	var counts []string
	for k, n := range got.Records {
		counts = append(counts, fmt.Sprintf("%d %s", n, k))
	}
	slices.Sort(counts)
	for _, p := range got.Problems {
		fmt.Fprintln(a.Out, plain(p))
	}
	for _, p := range got.PhotoProblems {
		fmt.Fprintln(a.Out, plain(p))
	}
	if len(got.Problems)+len(got.PhotoProblems) == 0 {
		fmt.Fprintf(a.Out, "All is well: %s, %d photos.\n", strings.Join(counts, ", "), got.Photos)
	}
	if len(got.Unnamed) > 0 {
		fmt.Fprintln(a.Out, "No finding names these photos; they do no harm:")
		for _, f := range got.Unnamed {
			fmt.Fprintln(a.Out, "  "+plain(f))
		}
	}
}

func (a *app) restoreCmd() *cobra.Command {
	return &cobra.Command{Use: "restore FILE", Short: "Put a backup in the place of the data file", Args: exactly("FILE"),
		Long: "Put a backup in the place of the data file, after checking all of it, and bring back the photos that lie in the folder photos beside the backup. The daemon must not run. The file that was there is kept beside it.",
		RunE: func(c *cobra.Command, args []string) error {
			cfg, err := a.load(c)
			if err != nil {
				return err
			}
			if err := noDaemon(cfg); err != nil {
				return err
			}
			if err := os.MkdirAll(cfg.Data, 0o700); err != nil {
				return err
			}
			path := filepath.Join(cfg.Data, dataFile)
			kept, err := store.Restore(args[0], path)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.Out, "%s is now a copy of %s.\n", path, args[0])
			if kept != "" {
				fmt.Fprintf(a.Out, "The file that was there is kept as %s.\n", kept)
			}
			n, err := desk.CopyPhotos(filepath.Join(filepath.Dir(args[0]), photoFolder), filepath.Join(cfg.Data, photoFolder))
			if n > 0 {
				fmt.Fprintf(a.Out, "Photos brought back: %d.\n", n)
			}
			return err
		}}
}

func (a *app) eraseCmd() *cobra.Command {
	var yes, asJSON bool
	c := &cobra.Command{Use: "erase PERSON", Short: "Remove a person's name and addresses for good", Args: exactly("PERSON"),
		Long: "Remove a person's name, addresses and mails for good, from records and history; a customer of the same name is renamed. What was done to\ndryers and runs stays, without the name. PERSON is an e-mail address, a key of your own, or an id.\n\nNot removed:\n  - " + strings.Join(desk.ErasureKeeps(), "\n  - "),
		RunE: func(c *cobra.Command, args []string) error {
			if !yes {
				return usage("this cannot be undone: add --yes to do it")
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[desk.Erased](ctx, o, opErase, eraseArgs{args[0]}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				_, err = fmt.Fprintf(a.Out, "Erased: %d person(s), %d messages, %d lines of history, the name in %d other records.\nNot removed:\n  - %s\n",
					got.Persons, got.Messages, got.Lines, got.Records, strings.Join(got.Stays, "\n  - "))
				return err
			})
		}}
	c.Flags().BoolVar(&yes, "yes", false, "do it")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) setupCmd() *cobra.Command {
	o := vent.Operator{}
	c := &cobra.Command{Use: "setup", Short: "Say who you are: name, kind, time zone, units", Args: exactly(),
		Example: "  ventdue setup --kind customers --name \"Harbor Dryer Care\" --zone America/New_York --phone 555-0142",
		RunE: func(c *cobra.Command, _ []string) error {
			if o.Zone == "" {
				cfg, err := a.load(c)
				if err != nil {
					return err
				}
				o.Zone = cfg.Zone.String()
			}
			return a.with(c, func(ctx context.Context, office call.Office) error {
				got, err := call.Ask[vent.Operator](ctx, office, opSetup, setupArgs{o}, nil)
				if err == nil {
					_, err = fmt.Fprintf(a.Out, "%s, time zone %s, %s units. Next: ventdue import FILE\n", plain(got.Name), got.Zone, got.Units)
				}
				return err
			})
		}}
	s := c.Flags()
	s.StringVar((*string)(&o.Kind), "kind", string(vent.Customers), "household, buildings or customers")
	s.StringVar(&o.Name, "name", "", "the name people know you by")
	s.StringVar(&o.Zone, "zone", "", "your time zone, such as America/New_York: days and the hours of mail are counted in it, and buildings without one of their own stand in it (default: the machine's)")
	s.StringVar((*string)(&o.Units), "units", string(vent.US), "us or si")
	s.StringVar((*string)(&o.Clock), "clock", "", "how times of day are written: 12h or 24h (default: 12h with us units, 24h with si)")
	s.StringVar(&o.Language, "language", "en", "language of pages and mail")
	s.StringVar(&o.Email, "email", "", "where failures are reported")
	s.StringVar(&o.Phone, "phone", "", "shown in reminders")
	return c
}

func (a *app) mailCmd() *cobra.Command {
	c := &cobra.Command{Use: "mail", Short: "See what was and will be sent, and why", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	var asJSON bool
	why := &cobra.Command{Use: "why [PERSON|CUSTOMER]", Short: "Say what a person was told or not told, and why",
		Long: "Say what a person was told, is to be told, or was not told, and why. PERSON is an e-mail address, a key of your own, or an id; CUSTOMER\nan id, a key or words of the name: all its contacts. Without it, the last messages to anybody, and whom no mail reaches.",
		RunE: func(c *cobra.Command, args []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[wording.MailStory](ctx, o, opMailList, mailArgs{strings.Join(args, " ")}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return a.printMail(got)
			})
		}}
	why.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.AddCommand(why, a.mailPreviewCmd(), a.mailTestCmd(), a.mailBounceCmd(), a.mailChannelsCmd())
	return c
}

func (a *app) printMail(got wording.MailStory) error {
	for _, p := range got.Persons {
		fmt.Fprintf(a.Out, "%s <%s>\n", plain(p.Name), plain(p.Email))
		for _, line := range p.Says {
			fmt.Fprintf(a.Out, "  %s\n", plain(line))
		}
	}
	for _, m := range got.Messages {
		fmt.Fprintf(a.Out, "\n%s\n", plain(m.Heading))
		for _, line := range m.Says {
			fmt.Fprintf(a.Out, "  %s\n", plain(line))
		}
		for _, line := range m.Things {
			fmt.Fprintf(a.Out, "  - %s\n", plain(line))
		}
	}
	if len(got.Messages) == 0 {
		fmt.Fprintln(a.Out, "No message so far.")
	}
	return nil
}
