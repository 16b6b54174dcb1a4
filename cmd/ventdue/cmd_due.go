package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

// dateFlag adds a flag that takes a day in ISO form.
func dateFlag(c *cobra.Command, d *vent.Date, name, help string) {
	c.Flags().Var((*dateValue)(d), name, help)
}

type dateValue vent.Date

func (d *dateValue) String() string     { return vent.Date(*d).String() }
func (d *dateValue) Type() string       { return "YYYY-MM-DD" }
func (d *dateValue) Set(s string) error { return (*vent.Date)(d).UnmarshalText([]byte(s)) }

// printJSON writes an answer for a program.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

func (a *app) dueCmd() *cobra.Command {
	var args duesArgs
	var asJSON bool
	c := &cobra.Command{
		Use:   "due [WORDS...]",
		Short: "List what is due, the most urgent first",
		Long: `List open dues by day. WORDS narrow the list to places whose customer, site, address, unit or run contains them all.

A due says what is to be done on which run, by which day, and why. "last cleaning not known" means: due now.`,
		Example: "  ventdue due\n  ventdue due --to 2027-03-31 maple\n  ventdue due --json",
		RunE: func(c *cobra.Command, words []string) error {
			args.Place = strings.Join(words, " ")
			if args.Max < 0 || args.From != 0 && args.To != 0 && args.To < args.From {
				return usage("--max is 0 or more, and --to is not before --from")
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[duesAnswer](ctx, o, opDues, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return a.printDues(got, args)
			})
		},
	}
	dateFlag(c, &args.Today, "today", "answer as if it were this day")
	dateFlag(c, &args.From, "from", "first day")
	dateFlag(c, &args.To, "to", "last day")
	c.Flags().IntVar(&args.Max, "max", 0, "show at most this many (0: all)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) printDues(got duesAnswer, args duesArgs) error {
	if got.Total == 0 {
		says := "Nothing is due. If nothing was brought in yet: ventdue import FILE"
		if args.Place != "" || args.From != 0 || args.To != 0 {
			says = "Nothing that fits is due: ventdue due, without words and days, lists everything"
		}
		_, err := fmt.Fprintln(a.Out, says)
		return err
	}
	if err := printLines(a.Out, got.Dues); err != nil {
		return err
	}
	if n := got.Total - len(got.Dues); n > 0 {
		_, err := fmt.Fprintf(a.Out, "and %d more\n", n)
		return err
	}
	return nil
}

// states are the words of a state key, in lists.
var states = map[string]string{"stop": "DO NOT USE", "unknown": "never cleaned?", "overdue": "OVERDUE", "soon": "soon", "later": ""}

func printLines(w io.Writer, dues []dueLine) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "DAY\tSTATE\tWHAT\tWHERE\tCUSTOMER\tAWAY")
	for _, d := range dues {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", d.Day, states[d.State], clip(plain(d.Text), 48), plain(d.Where), plain(d.Customer), d.Away)
	}
	return t.Flush()
}

// clip cuts a text for a table's column, marking the cut.
func clip(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// plain keeps names from moving a terminal's cursor or breaking a table.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return ' '
		}
		return r
	}, s)
}

func (a *app) explainCmd() *cobra.Command {
	var args runArgs
	var asJSON bool
	var file string
	c := &cobra.Command{
		Use:     "explain RUN",
		Short:   "Say why a run is due when it is",
		Long:    "Say what is due on a run, when, from which numbers, and what would change it.\nRUN is its id, its run_ref, or words that fit one run: site, unit, name.",
		Example: "  ventdue explain R-1042\n  ventdue explain maple 3B --json\n  ventdue explain maple 3B --picture flow.svg",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usage("which run? give its id, its run_ref, or words of its site, unit and name")
			}
			return nil
		},
		RunE: func(c *cobra.Command, words []string) error {
			args.Run, args.Picture = strings.Join(words, " "), file != ""
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[explainAnswer](ctx, o, opExplain, args, nil)
				if err == nil && file != "" {
					err = os.WriteFile(file, got.Picture, 0o644)
				}
				if err != nil {
					return err
				}
				got.Picture = nil // it has its own file
				if asJSON {
					return printJSON(a.Out, got)
				}
				if err := a.printExplained(got); err != nil || file == "" {
					return err
				}
				_, err = fmt.Fprintf(a.Out, "\nThe flow over time is drawn in %s\n", file)
				return err
			})
		},
	}
	dateFlag(c, &args.Today, "today", "answer as if it were this day")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.Flags().StringVar(&file, "picture", "", "draw the flow over time into this file (svg)")
	return c
}

func (a *app) printExplained(e explainAnswer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s (%s)\n", plain(e.Where), plain(e.Customer))
	if len(e.Dues) == 0 {
		fmt.Fprintln(b, "Nothing is due: this run is no longer kept.")
	}
	for _, d := range e.Dues {
		fmt.Fprintf(b, "\n%s: %s (%s)\n", d.Title, d.Date, d.Away)
		for _, r := range slices.Concat(d.Reasons, d.Figures) {
			fmt.Fprintf(b, "  - %s\n", plain(r))
		}
	}
	if e.Sharper != "" {
		fmt.Fprintf(b, "\nTo make the date surer: %s\n", e.Sharper)
	}
	fmt.Fprintf(b, "\nFlow over time: %s\n", plain(e.FlowText))
	for i, d := range e.Doubts {
		if i == 0 {
			fmt.Fprintln(b, "\nCannot be judged as it is recorded:")
		}
		fmt.Fprintf(b, "  - %s\n", plain(d))
	}
	said := map[string]bool{}
	for i, f := range e.Faults {
		f.Cautions = slices.DeleteFunc(slices.Clone(f.Cautions), func(c string) bool {
			defer func() { said[c] = true }()
			return said[c]
		})
		if i == 0 {
			fmt.Fprintln(b, "\nFaults:")
		}
		fmt.Fprintf(b, "- %s: %s (%s), by %s\n", strings.ToUpper(faultState(f)), plain(f.Looks), f.Rule, cmp.Or(f.Until, f.Deadline))
		if f.Note != "" {
			fmt.Fprintf(b, "  %s\n", plain(f.Note))
		}
		writeFaultWork(b, f)
	}
	fmt.Fprintf(b, "\nFindings on record: %d\n\nCare:\n", e.Findings)
	for _, c := range e.Cautions {
		fmt.Fprintf(b, "  - %s\n", c)
	}
	_, err := io.WriteString(a.Out, b.String())
	return err
}
