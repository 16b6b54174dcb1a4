package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"ventdue/cmd/ventdue/estimate"
	"ventdue/scheduler/due"
	"ventdue/vent"
)

// policyFlags set the policy of a command that needs no data file.
type policyFlags struct{ due.Policy }

func (p *policyFlags) add(c *cobra.Command) {
	p.Policy = due.Default()
	s := c.Flags()
	s.Float64Var(&p.Risk, "risk", p.Risk, "chance of being choked at which a run is due, 0 to 0.5")
	s.Float64Var(&p.RiskCareful, "risk-shared", p.RiskCareful, "the same for gas, shared and multi-family runs")
	s.IntVar(&p.ShortestDays, "shortest", p.ShortestDays, "days after a full cleaning before which no preventive cleaning is due")
	s.IntVar(&p.LongestMonths, "longest", p.LongestMonths, "months after which a cleaning is due whatever was measured")
	s.IntVar(&p.UnprovenMonths, "longest-without-evidence", p.UnprovenMonths, "the same where no two measured cycles support more")
	s.IntVar(&p.LookMonths, "look", p.LookMonths, "months after which a look is due")
}

// settled gives the policy; what was not said follows what was, so that --risk 0.02 alone is a policy.
func (p policyFlags) settled(c *cobra.Command) (due.Policy, error) {
	out := p.Policy
	if s := c.Flags(); s.Changed("risk") && !s.Changed("risk-shared") {
		out.RiskCareful = min(out.RiskCareful, out.Risk)
	}
	if s := c.Flags(); s.Changed("longest") && !s.Changed("longest-without-evidence") {
		out.UnprovenMonths = min(out.UnprovenMonths, out.LongestMonths)
	}
	if err := out.Validate(); err != nil {
		return out, usage("policy: %w", err)
	}
	return out, nil
}

// unitsFlag adds the unit system of plain numbers and of the answer.
func unitsFlag(c *cobra.Command, u *vent.UnitSystem) {
	c.Flags().StringVar((*string)(u), "units", string(vent.US), "unit system of plain numbers and of the answer: us or si")
}

func checkUnits(u vent.UnitSystem) error {
	if u != vent.US && u != vent.SI {
		return usage("--units %q: use us or si", u)
	}
	return nil
}

func (a *app) estimateCmd() *cobra.Command {
	var o estimate.Options
	var policy policyFlags
	var schema, inPlace bool
	c := &cobra.Command{
		Use:   "estimate [FILE|-]",
		Short: "Say when runs are due: JSON lines in, JSON lines out, no data file",
		Long: `Say when vent runs are due that no data file knows. Every line is one run: how it is built, its dryer, its use, what was
found. Every answer is one line, in the same order: due, earliest and latest day, the chance of being choked, why.

Names are those of the import columns; what a line may hold: ventdue estimate --schema. Figures carry their unit
("25 ft", "900 fpm"); a plain number is in the system of --units. Unknown fields are refused.
A bad line is reported with its number and does not stop the others; the exit code is then 1.

A date is advice, not a permit to wait. Local codes and the maker's instructions come first.`,
		Example: `  echo '{"run":{"duct_length":"25 ft","elbows_90":2},"dryer":{"fuel":"electric"},"use":5}' | ventdue estimate
  ventdue estimate fleet.jsonl --at 2027-06-01 --risk 0.05 > dates.jsonl`,
		Args: func(_ *cobra.Command, files []string) error {
			if len(files) > 1 {
				return usage("%d files: give one, or pipe them in", len(files))
			}
			return nil
		},
		RunE: func(c *cobra.Command, files []string) (err error) {
			if schema {
				b, err := estimate.Schema()
				if err == nil {
					_, err = a.Out.Write(b)
				}
				return err
			}
			if o.Policy, err = policy.settled(c); err != nil {
				return err
			}
			if err := checkUnits(o.Units); err != nil {
				return err
			}
			if o.Today == 0 {
				o.Today = vent.DateOf(a.now())
			}
			if err := o.Validate(); err != nil {
				return usageError{err}
			}
			return a.estimate(c, append(files, "-")[0], o, inPlace)
		},
	}
	dateFlag(c, &o.Today, "today", "the day of the estimate; nothing can have been found later (default today)")
	dateFlag(c, &o.At, "at", "also give the chance of being choked on this day")
	unitsFlag(c, &o.Units)
	policy.add(c)
	c.Flags().BoolVar(&inPlace, "json-errors", false, `write {"line":N,"error":...} in the place of a refused line's answer as well`)
	c.Flags().BoolVar(&schema, "schema", false, "print the JSON Schema of a line")
	return c
}

func (a *app) estimate(c *cobra.Command, name string, o estimate.Options, inPlace bool) error {
	in, _, err := a.openFile(name)
	if err != nil {
		return err
	}
	defer in.Close()
	if f, ok := a.In.(*os.File); ok && name == "-" && term.IsTerminal(int(f.Fd())) {
		fmt.Fprintln(a.Err, "ventdue: reading runs from the keyboard, one JSON object per line; Ctrl-D ends")
	}
	n, err := estimate.Stream(c.Context(), o, in, a.Out, inPlace, func(x estimate.LineError) {
		at := fmt.Sprintf("line %d", x.Line)
		if x.ID != "" {
			at += fmt.Sprintf(" (%s)", plain(x.ID))
		}
		fmt.Fprintf(a.Err, "%s: %s\n", at, plain(x.Error))
	})
	if err != nil {
		return fmt.Errorf("estimate: %w", err)
	}
	if n.Bad > 0 {
		return fmt.Errorf("%d of %d lines were refused", n.Bad, n.Lines)
	}
	return nil
}
