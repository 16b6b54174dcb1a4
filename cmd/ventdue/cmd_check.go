package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

func (a *app) checkCmd() *cobra.Command {
	c := &cobra.Command{Use: "check", Short: "List recurring checks; say what became of them", Args: exactly(),
		Long: `A recurring check is a look that needs no computing: wash the lint screen, look at the flap from the ground, press the
alarm's button, replace the alarm by its date. The next time is counted from the last time it was done.

Checks that are one errand stand on one line: at the dryer, outside, alarms, for a licensed person, when the dryer is opened.
CHECK is a check's id or its first digits, eight at least, as "ventdue check list --each" names it; or give --site and
--line for all of a line that is due together. "ventdue rules" names the source of every interval.`,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.checkListCmd(), a.checkDoneCmd(), a.checkSkipCmd(), a.checkPutOffCmd(), a.checkSetCmd(), a.checkOffCmd(), a.checkOnCmd(), a.checkAlarmCmd())
	return c
}

func (a *app) checkListCmd() *cobra.Command {
	var args checksArgs
	var each, asJSON bool
	c := &cobra.Command{Use: "list [WORDS...]", Short: "List recurring checks, a line for each errand",
		Example: "  ventdue check list\n  ventdue check list maple --each\n  ventdue check list --all --json",
		RunE: func(c *cobra.Command, words []string) error {
			args.Words = strings.Join(words, " ")
			if args.Max < 0 {
				return usage("--max is 0 or more")
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[checksAnswer](ctx, o, opChecks, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				if !args.All {
					for i := range got.Sites {
						got.Sites[i].Left = nil
					}
				}
				return printChecks(a.Out, got, each || args.All)
			})
		}}
	dateFlag(c, &args.Today, "today", "answer as if it were this day")
	c.Flags().BoolVar(&each, "each", false, "each check with its id, and those turned off")
	c.Flags().BoolVar(&args.All, "all", false, "each check, and those as well that nobody is told of")
	c.Flags().IntVar(&args.Max, "max", 0, "show at most this many sites (0: all)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func printChecks(w io.Writer, got checksAnswer, each bool) error {
	if got.Total == 0 {
		_, err := fmt.Fprintln(w, "No recurring check is asked for. All that could be: ventdue check list --all")
		return err
	}
	print := printCheckLines
	if each {
		print = printEachCheck
	}
	if err := print(w, got.Sites); err != nil {
		return err
	}
	if n := got.Total - len(got.Sites); n > 0 {
		fmt.Fprintf(w, "and %d more sites\n", n)
	}
	return nil
}

// printCheckLines prints one line for each errand.
func printCheckLines(w io.Writer, sites []wording.CheckSheet) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "DAY\tSTATE\tWHAT\tWHERE\tCUSTOMER\tAWAY")
	for _, s := range sites {
		for _, l := range s.Lines {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", l.Day, states[l.State], clip(plain(lineText(l)), 90), plain(s.Site), plain(s.Customer), l.Away)
		}
	}
	return t.Flush()
}

// lineText names a line and what is due of it, each rule once with how many there are.
func lineText(l wording.CheckLine) string {
	var names []string
	n := map[string]int{}
	for _, c := range l.Checks[:l.Due] {
		if n[c.Name]++; n[c.Name] == 1 {
			names = append(names, c.Name)
		}
	}
	for i, name := range names {
		if n[name] > 1 {
			names[i] = name + " (" + strconv.Itoa(n[name]) + ")"
		}
	}
	text := strings.Join(names, ", ")
	if later := len(l.Checks) - l.Due; later > 0 {
		text += fmt.Sprintf(" +%d later", later)
	}
	return l.Name + ": " + text
}

// printEachCheck prints every check with its id.
func printEachCheck(w io.Writer, sites []wording.CheckSheet) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "NEXT\tLINE\tCHECK\tWHERE\tEVERY\tLAST DONE\tNOTE\tCHECK ID")
	row := func(s wording.CheckSheet, line, next string, x wording.CheckItem) {
		where := s.Site
		if x.Where != "" && x.Where != s.Site {
			where += ", " + x.Where
		}
		last := ""
		if x.LastDone != 0 {
			last = x.LastDone.String() + " " + x.DoneBy
		}
		note := x.Why
		if x.Who != "" && x.Why != "" {
			note = x.Who + ": " + x.Why
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", next, line, plain(x.Name), plain(where), x.Every, plain(last), plain(note), x.Ref)
	}
	for _, s := range sites {
		for _, l := range s.Lines {
			for _, x := range l.Checks {
				row(s, string(l.Line), x.Day.String(), x)
			}
		}
		for _, x := range s.Off {
			row(s, "", "off", x)
		}
		for _, x := range s.Left {
			row(s, "", "not asked", x)
		}
	}
	return t.Flush()
}

// checkDo makes a command that does one thing to checks.
func (a *app) checkDo(do desk.CheckDo, short, example string, flags func(*cobra.Command, *checkArgs)) *cobra.Command {
	args := checkArgs{Do: do}
	var asJSON bool
	c := &cobra.Command{Use: string(do) + " CHECK... | --site WORDS --line LINE", Short: short, Example: example,
		Args: func(_ *cobra.Command, words []string) error {
			switch {
			case len(words) > 0 && (args.Site != "" || args.Line != ""):
				return usage("name checks, or a line of a site, not both")
			case len(words) == 0 && (args.Site == "" || args.Line == ""):
				return usage("which check? Give ids from `ventdue check list --each`, or --site and --line")
			case args.Line != "" && !slices.Contains(rules.Lines(), args.Line):
				return usage("--line %q: use one of %s", args.Line, lineNames())
			}
			args.Checks = words
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[wording.CheckSheet](ctx, o, opCheck, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				fmt.Fprintf(a.Out, "Written down. %s now:\n", plain(got.Site))
				return printCheckLines(a.Out, []wording.CheckSheet{got})
			})
		}}
	c.Flags().StringVar(&args.Site, "site", "", "words of the site's name or address")
	c.Flags().StringVar((*string)(&args.Line), "line", "", "what is due of a line of that site: "+lineNames())
	flags(c, &args)
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func lineNames() string {
	var names []string
	for _, l := range rules.Lines() {
		names = append(names, string(l))
	}
	return strings.Join(names, ", ")
}

func byFlag(c *cobra.Command, f *checkArgs, help string) { c.Flags().StringVar(&f.Who, "by", "", help) }

func whyFlag(c *cobra.Command, f *checkArgs) {
	c.Flags().StringVar(&f.Why, "why", "", "the reason (needed)")
}

func (a *app) checkDoneCmd() *cobra.Command {
	return a.checkDo(desk.CheckDone, "Say that checks were carried out",
		"  ventdue check done 0198f2a1 --by \"Ana Rivera\"\n  ventdue check done --site maple --line outside --by \"Ana Rivera\" --date 2026-11-20", func(c *cobra.Command, f *checkArgs) {
			byFlag(c, f, "who did it (needed)")
			dateFlag(c, &f.On, "date", "on which day (default today)")
			dateFlag(c, &f.Made, "made", "a replaced alarm: day of manufacture on the new one's back")
			dateFlag(c, &f.Replace, "replace-by", "a replaced alarm: the maker's date on the new one's back")
		})
}

func (a *app) checkSkipCmd() *cobra.Command {
	return a.checkDo(desk.CheckSkip, "Leave checks out this time; the time after stays", "  ventdue check skip 0198f2a1 --by \"Ana Rivera\" --why \"away in February\"", func(c *cobra.Command, f *checkArgs) {
		byFlag(c, f, "who decided it (needed)")
		whyFlag(c, f)
	})
}

func (a *app) checkPutOffCmd() *cobra.Command {
	return a.checkDo(desk.CheckPutOff, "Put checks off until a day, on which they come back", "  ventdue check putoff 0198f2a1 --until 2027-02-01 --by \"Ana Rivera\" --why \"fitter booked\"", func(c *cobra.Command, f *checkArgs) {
		byFlag(c, f, "who decided it (needed)")
		whyFlag(c, f)
		dateFlag(c, &f.Until, "until", "the day on which they come back (needed, at most 90 days away)")
	})
}

func (a *app) checkSetCmd() *cobra.Command {
	return a.checkDo(desk.CheckSet, "Set how often checks come, or by which date an alarm is replaced", "  ventdue check set 0198f2a1 --months 2\n  ventdue check set 0198f2a1 --made 2021-05-01", func(c *cobra.Command, f *checkArgs) {
		c.Flags().IntVar(&f.Months, "months", 0, "every so many months (needed but for an alarm's replacement)")
		dateFlag(c, &f.Made, "made", "an alarm's replacement: day of manufacture on its back")
		dateFlag(c, &f.Replace, "replace-by", "an alarm's replacement: the maker's date on its back")
	})
}

func (a *app) checkOffCmd() *cobra.Command {
	return a.checkDo(desk.CheckOff, "Have checks done no more", "  ventdue check off 0198f2a1 --by \"Ana Rivera\" --why \"the lessee sees to it\"", func(c *cobra.Command, f *checkArgs) {
		byFlag(c, f, "who decided it (needed)")
		whyFlag(c, f)
	})
}

func (a *app) checkOnCmd() *cobra.Command {
	return a.checkDo(desk.CheckOn, "Have checks done again, or from now on", "  ventdue check on 0198f2a1", func(*cobra.Command, *checkArgs) {})
}

func (a *app) checkAlarmCmd() *cobra.Command {
	var args alarmArgs
	var kind string
	var asJSON bool
	c := &cobra.Command{Use: "alarm UNIT", Short: "Keep one more smoke or CO alarm of a unit",
		Long: `Keep a smoke or CO alarm with its test and its replacement: by the maker's date on its back, else 10 years (smoke) or 7 (CO) after
its manufacture. Without a date the look on its back is due within a month.

UNIT is its unit_ref or id, or words that fit one run of it. One alarm of each kind per unit can be imported as well, with
the columns smoke_alarm_made and co_alarm_made.`,
		Example: "  ventdue check alarm maple 3B --kind smoke --made 2021-05-01",
		Args: func(_ *cobra.Command, words []string) error {
			switch {
			case len(words) == 0:
				return usage("which unit? give its unit_ref or id, or words of its site, unit and run")
			case kind == "smoke":
				args.Alarm.Kind = vent.SmokeAlarm
			case kind == "co":
				args.Alarm.Kind = vent.COAlarm
			default:
				return usage("--kind %q: use smoke or co", kind)
			}
			args.Unit = strings.Join(words, " ")
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[alarmAnswer](ctx, o, opAlarm, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				fmt.Fprintf(a.Out, "Alarm %s is kept. %s now:\n", got.Alarm.ID, plain(got.Sheet.Site))
				return printCheckLines(a.Out, []wording.CheckSheet{got.Sheet})
			})
		}}
	c.Flags().StringVar(&kind, "kind", "", "smoke or co (needed)")
	c.Flags().StringVar(&args.Alarm.Ref, "ref", "", "your own key of the alarm")
	c.Flags().StringVar(&args.Alarm.Maker, "maker", "", "the maker's name on it")
	c.Flags().StringVar(&args.Alarm.Model, "model", "", "the model on it")
	dateFlag(c, &args.Alarm.Made, "made", "day of manufacture on its back")
	dateFlag(c, &args.Alarm.Replace, "replace-by", "the maker's own date on its back")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}
