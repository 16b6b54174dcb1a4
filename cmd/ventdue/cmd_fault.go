package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
	"ventdue/vent/rules"
)

func (a *app) faultCmd() *cobra.Command {
	c := &cobra.Command{Use: "fault", Short: "List faults; say what became of one", Args: exactly(),
		Long: `A fault is a condition that must not be forgotten: seen on a visit, told by somebody who lives there, or following from what
is recorded. It is open, put right by somebody, or put off by somebody until a day, on which it comes back.

A stop fault means: nobody uses the dryer. It is neither fixed nor put off; a named qualified person releases it.
FAULT is a fault's id or its first digits, eight at least.`,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.faultListCmd(), a.faultShowCmd(), a.faultFixCmd(), a.faultWaiveCmd(), a.faultTagCmd(), a.faultCallCmd(), a.faultReleaseCmd())
	return c
}

func (a *app) faultListCmd() *cobra.Command {
	var args faultsArgs
	var asJSON bool
	c := &cobra.Command{Use: "list [WORDS...]", Short: "List faults, \"do not use\" first, then by deadline",
		Example: "  ventdue fault list\n  ventdue fault list maple 3B --all",
		RunE: func(c *cobra.Command, words []string) error {
			args.Words = strings.Join(words, " ")
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[faultsAnswer](ctx, o, opFaults, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				if got.Total == 0 {
					_, err := fmt.Fprintln(a.Out, "No fault stands open.")
					return err
				}
				if err := printFaults(a.Out, got.Faults); err != nil {
					return err
				}
				if n := got.Total - len(got.Faults); n > 0 {
					fmt.Fprintf(a.Out, "and %d more\n", n)
				}
				return nil
			})
		}}
	c.Flags().BoolVar(&args.All, "all", false, "those that were put right as well")
	c.Flags().IntVar(&args.Max, "max", 0, "show at most this many (0: all)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

// printFaults prints faults as a table.
func printFaults(w io.Writer, lines []faultLine) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "BY\tSTATE\tFAULT\tWHERE\tCUSTOMER\tID")
	for _, f := range lines {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", cmp.Or(f.Until, f.Deadline), faultState(f), f.Rule, plain(f.Where), plain(f.Customer), f.ID)
	}
	return t.Flush()
}

func faultState(f faultLine) string {
	switch {
	case f.State == vent.FaultOpen && f.Severity == vent.Stop:
		return "DO NOT USE"
	case f.State == vent.FaultOpen:
		return string(f.Severity)
	case f.State == vent.FaultWaived:
		return "put off"
	case f.Severity == vent.Stop:
		return "released"
	}
	return "fixed"
}

// faultDo makes a command that does one thing to one fault.
func (a *app) faultDo(do, use, short string, flags func(*cobra.Command, *faultArgs)) *cobra.Command {
	args := faultArgs{Do: do}
	var asJSON bool
	c := &cobra.Command{Use: use, Short: short, Args: exactly("FAULT"),
		RunE: func(c *cobra.Command, words []string) error {
			args.Fault = words[0]
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[faultLine](ctx, o, opFault, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printFault(a.Out, got)
			})
		}}
	if flags != nil {
		flags(c, &args)
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) faultShowCmd() *cobra.Command {
	return a.faultDo("show", "show FAULT", "Show one fault with its source, cautions and call list", nil)
}

func (a *app) faultFixCmd() *cobra.Command {
	return a.faultDo("fix", "fix FAULT", "Say that a fault was put right", func(c *cobra.Command, f *faultArgs) {
		c.Flags().StringVar(&f.Who, "by", "", "who put it right (needed)")
		c.Flags().StringVar(&f.Text, "how", "", "what was done")
		dateFlag(c, &f.On, "date", "on which day (default today)")
	})
}

func (a *app) faultWaiveCmd() *cobra.Command {
	return a.faultDo("waive", "waive FAULT", "Put a fault off until a day, on which it comes back", func(c *cobra.Command, f *faultArgs) {
		c.Flags().StringVar(&f.Who, "by", "", "who declined (needed)")
		c.Flags().StringVar(&f.Text, "why", "", "the reason (needed)")
		dateFlag(c, &f.Until, "until", "the day on which it comes back (needed, at most 12 months away)")
	})
}

func (a *app) faultTagCmd() *cobra.Command {
	return a.faultDo("tag", "tag FAULT", "Say that a tag hangs on the stopped dryer", func(c *cobra.Command, f *faultArgs) {
		c.Flags().BoolVar(&f.Off, "off", false, "the tag was taken off")
	})
}

func (a *app) faultCallCmd() *cobra.Command {
	return a.faultDo("call", "call FAULT", "Note who was told of a stop fault", func(c *cobra.Command, f *faultArgs) {
		c.Flags().StringVar(&f.Who, "who", "", "who was told (needed)")
		c.Flags().StringVar(&f.How, "how", "", "telephone, at the door, mail (needed)")
		c.Flags().StringVar((*string)(&f.Role), "role", "", "occupant, customer or operator; nothing for anybody else")
		c.Flags().BoolVar(&f.Ackd, "ack", false, "they said that they understood")
	})
}

func (a *app) faultReleaseCmd() *cobra.Command {
	return a.faultDo("release", "release FAULT", "Let a stopped dryer be used again: by a named qualified person", func(c *cobra.Command, f *faultArgs) {
		c.Flags().StringVar(&f.Who, "by", "", "the qualified person's name (needed, or --person)")
		c.Flags().StringVar(&f.Person, "person", "", "one of your own people: e-mail address, key or id; their skills say whether they are licensed")
		c.Flags().StringVar(&f.As, "as", "", "by what right: licence, trade or authority (needed)")
		c.Flags().BoolVar(&f.Licensed, "licensed", false, "that is a licence for the work: gas and electrical faults ask for one")
		c.Flags().StringVar(&f.Text, "what", "", "what was found and done (needed)")
		dateFlag(c, &f.On, "date", "on which day (default today)")
	})
}

// printFault prints all of one fault.
func printFault(w io.Writer, f faultLine) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s\n%s (%s)\n", strings.ToUpper(faultState(f)), plain(f.Looks), plain(f.Where), plain(f.Customer))
	fmt.Fprintf(b, "  rule %s, id %s\n  found %s", f.Rule, f.ID, f.Found)
	switch f.State {
	case vent.FaultOpen:
		fmt.Fprintf(b, ", by %s\n", f.Deadline)
	case vent.FaultWaived:
		fmt.Fprintf(b, ", put off by %s until %s: %s\n", plain(f.ClosedBy), f.Until, plain(f.Why))
	default:
		as := ""
		if f.ReleasedAs != "" {
			as = " (" + plain(f.ReleasedAs) + ")"
		}
		fmt.Fprintf(b, ", closed %s by %s%s: %s\n", f.Closed, plain(f.ClosedBy), as, plain(f.Why))
	}
	if f.Note != "" {
		fmt.Fprintf(b, "  %s\n", plain(f.Note))
	}
	if f.State != vent.FaultFixed {
		writeFaultWork(b, f)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// writeFaultWork writes what is to be done about a fault that stands, by whom, with what care.
func writeFaultWork(b *strings.Builder, f faultLine) {
	fmt.Fprintf(b, "  to do: %s (%s)\n", plain(f.Do), f.ByWhom)
	if len(f.Sources) > 0 {
		fmt.Fprintf(b, "  source: %s\n", strings.Join(f.Sources, "; "))
	}
	if f.Severity == vent.Stop && f.State == vent.FaultOpen {
		tag := "no tag hangs"
		if f.Tagged {
			tag = "a tag hangs"
		}
		fmt.Fprintf(b, "  %s; still to be told: %s; not yet acknowledged: %s\n", tag, roleList(f.Untold), roleList(f.Unacknowledged))
		for _, c := range f.Told {
			ack := ""
			if c.Ackd {
				ack = ", acknowledged"
			}
			fmt.Fprintf(b, "  told %s: %s, by %s%s\n", c.At, plain(c.Who), plain(c.How), ack)
		}
	}
	for _, c := range f.Cautions {
		fmt.Fprintf(b, "  care: %s\n", c)
	}
}

func roleList(roles []vent.CallRole) string {
	if len(roles) == 0 {
		return "nobody"
	}
	names := make([]string, len(roles))
	for i, r := range roles {
		names[i] = string(r)
	}
	return strings.Join(names, ", ")
}

func (a *app) signCmd() *cobra.Command {
	var s vent.Sign
	var asJSON bool
	kinds := make([]string, 0, len(rules.Signs()))
	for _, k := range rules.Signs() {
		kinds = append(kinds, string(k.Kind))
	}
	c := &cobra.Command{Use: "sign RUN", Short: "Write down what somebody noticed between visits",
		Long: "Write down what somebody noticed. A smell of burning or a CO alarm stops the dryer at once; the others are looked into within days.\n" +
			"RUN is its id, its run_ref, or words that fit one run. Kinds: " + strings.Join(kinds, ", ") + ".",
		Example: "  ventdue sign maple 3B --kind two_cycles --by \"Ana Rivera\"",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return usage("which run? give its id, its run_ref, or words of its site, unit and name")
			case !slices.Contains(kinds, string(s.Kind)):
				return usage("--kind %q: use one of %s", s.Kind, strings.Join(kinds, ", "))
			}
			return nil
		},
		RunE: func(c *cobra.Command, words []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[signAnswer](ctx, o, opSign, signArgs{Run: strings.Join(words, " "), Sign: s}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printSign(a.Out, got)
			})
		}}
	c.Flags().StringVar((*string)(&s.Kind), "kind", "", "what was noticed (needed)")
	c.Flags().StringVar(&s.By, "by", "", "who noticed it")
	c.Flags().StringVar(&s.Note, "note", "", "in their words")
	dateFlag(c, &s.On, "date", "on which day (default today at the site)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func printSign(w io.Writer, got signAnswer) error {
	t := got.Taken
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s\n", t.Say)
	for _, c := range t.Cautions {
		fmt.Fprintf(b, "  - %s\n", c)
	}
	switch {
	case t.Known:
		fmt.Fprintf(b, "%s: this was told before and stands; nothing was changed.\n", plain(got.Where))
	case t.Emergency:
		fmt.Fprintf(b, "%s: the dryer is stopped, fault %s. Tell everybody concerned now: ventdue fault call %s\n", plain(got.Where), t.Fault.ID, t.Fault.ID)
	default:
		fmt.Fprintf(b, "%s: written down; somebody looks into it by %s.\n", plain(got.Where), t.Due)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (a *app) rulesCmd() *cobra.Command {
	return &cobra.Command{Use: "rules", Short: "Print what the tool knows of faults, signs, parts and checks, with sources", Args: exactly(),
		RunE: func(*cobra.Command, []string) error {
			_, err := io.WriteString(a.Out, rules.Tables())
			return err
		}}
}
