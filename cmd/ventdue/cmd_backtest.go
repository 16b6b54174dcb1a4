package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/scheduler"
)

const opBacktest = "backtest"

func (h *house) askBacktest(ctx context.Context, _ call.Request, _ noArgs) (desk.Backtest, error) {
	return h.desk.Backtest(ctx)
}

func (a *app) backtestCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "backtest",
		Short: "Show on your own records whether to trust the dates",
		Long: `Replay every run's history visit by visit, each time knowing only what was known before, and compare what would have been
said with what the visit found: how often runs were past their limit, how far the air was off, and how one fixed interval
for all would have done with as many cleanings. Nothing is changed.`,
		Example: "  ventdue backtest\n  ventdue backtest --json",
		Args:    exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[desk.Backtest](ctx, o, opBacktest, noArgs{}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				_, err = io.WriteString(a.Out, backtestText(got))
				return err
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func backtestText(r desk.Backtest) string {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%d visits to %d of %d runs on record.\n", r.Visits, r.Runs, r.Stored)
	if r.Failed > 0 {
		fmt.Fprintf(b, "%d runs could not be replayed: %s\n", r.Failed, plain(r.Why))
	}
	fmt.Fprintf(b, "%d can be compared; %d cannot because the cleaning before them is not known, %d because they say nothing of the lint.\n",
		r.Compared, r.Unforetold, r.Silent)
	if r.Sudden > 0 {
		fmt.Fprintf(b, "%d found something that came at once (nest, crushed elbow), %d of them past the limit: no date foresees that, they are left out below.\n", r.Sudden, r.SuddenPast)
	}
	if r.Undecided > 0 {
		fmt.Fprintf(b, "%d saw lint by eye alone that fits both sides of the limit; they count as compared, but neither as past nor as within.\n", r.Undecided)
	}
	fmt.Fprintf(b, "\n%s\n", verdictOn(r))
	if r.All.Visits > 0 {
		printBins(b, r.Score)
	}
	printFlow(b, r.Flow)
	printFixed(b, r.Fixed)
	fmt.Fprint(b, notTold)
	return b.String()
}

// notTold is what no record can tell.
const notTold = `
What records cannot tell
  - Nobody measured between visits: the weeks past the limit are reckoned backwards from the reading that ended a cycle.
  - Visits were not chosen by chance. Where somebody called because the dryer was slow, runs look worse than they are.
  - A reading is off by 2 to 5 %, so a run close to its limit may count on the wrong side.
  - A figure that was corrected later, and what other runs taught since, is not undone.
`

func verdictOn(r desk.Backtest) string {
	said := fmt.Sprintf("%d of %d were past the limit; %.1f were expected.", r.All.Past, r.All.Visits, r.All.Said)
	switch r.Trust {
	case scheduler.TooLittle:
		return fmt.Sprintf("TOO LITTLE HISTORY to judge by: %d visits can be decided, it takes about %d. An air-speed reading before and after each cleaning makes every visit count.",
			r.All.Visits, scheduler.NeededVisits)
	case scheduler.MoreOften:
		return said + " That is MORE OFTEN than said: the dates come too late here. Lower policy.risk_one_family or policy.risk_shared, or look at what these runs have in common."
	case scheduler.LessOften:
		return said + " That is LESS OFTEN than said: the dates are cautious here."
	}
	return said + " What was said is what happened, as far as so many visits can show."
}

func printBins(b *strings.Builder, s scheduler.Score) {
	fmt.Fprint(b, "\nChance of being past the limit, said before the visit and found\n")
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  SAID\tVISITS\tMEAN SAID\tFOUND PAST\tSHARE\tCHANCE ALONE LEAVES")
	for _, x := range append(s.Bins, s.All) {
		if x.Visits == 0 {
			continue
		}
		n := float64(x.Visits)
		fmt.Fprintf(t, "  %s to %s\t%d\t%.1f %%\t%d\t%.1f %%\t%s to %s\n", percent(x.From), percent(x.To), x.Visits, 100*x.Said/n, x.Past, 100*float64(x.Past)/n,
			percent(x.Low), percent(x.High))
	}
	_ = t.Flush() // into memory
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", math.Round(100*share)) }

func printFlow(b *strings.Builder, f scheduler.FlowError) {
	if f.Readings == 0 {
		return
	}
	side := "more"
	if f.Bias < 0 {
		side = "less"
	}
	fmt.Fprintf(b, "\nAir: %d readings, %.1f points of the clean flow %s than expected on average, off by %.1f points; %.0f %% lay in the band that should hold 80 %%, less what the readings' own error takes out.\n",
		f.Readings, 100*math.Abs(f.Bias), side, 100*f.Absolute, 100*float64(f.InBand)/float64(f.Readings))
}

func printFixed(b *strings.Builder, f scheduler.Fixed) {
	if f.Cycles == 0 {
		fmt.Fprint(b, "\nA fixed interval cannot be compared: no cycle was measured from a cleaning to the next.\n")
		return
	}
	fmt.Fprintf(b, "\nAgainst one fixed interval with as many cleanings, %.2f per run and year (%d measured cycles, %.0f run-years)\n", f.Cleanings, f.Cycles, f.RunYears)
	fmt.Fprintf(b, "  these dates             %.2f weeks past the limit per run and year\n", f.Rules)
	fmt.Fprintf(b, "  a fixed %3.0f days        %.2f weeks past the limit per run and year\n", f.Interval, f.Same)
	if f.Beyond > 0 {
		fmt.Fprintf(b, "  In %d cycles the date lies after the visit that ended them: what would have grown until then is reckoned, not seen.\n", f.Beyond)
	}
}
