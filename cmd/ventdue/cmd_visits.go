package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

func (a *app) visitsCmd() *cobra.Command {
	c := &cobra.Command{Use: "visits", Short: "Plan, book, move and close visits; see the work ahead", Args: exactly(),
		Long: `A visit is one technician at one site on one day. Planning proposes visits: nobody is told, and they take nobody's time. What is booked,
held or frozen is moved by a person alone. VISIT is a visit's id or its first digits, eight at least.

Set up who makes visits with ` + "`ventdue technician`" + `. Local law decides how many days before an entry occupants must be told.`,
		Example: "  ventdue visits propose\n  ventdue visits list\n  ventdue visits book 0198a1b2\n  ventdue visits move 0198a1b2 --on 2026-12-03 --at 09:30 --why \"asked for Thursday\"\n" +
			"  ventdue visits close 0198a1b2 --shut 3B\n  ventdue visits ahead --picture ahead.svg",
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.visitPlanCmd("plan", "Show what planning would propose; change nothing", false), a.visitPlanCmd("propose", "Propose visits anew for what is due", true),
		a.visitListCmd(), a.visitAheadCmd(), a.visitLinkCmd(),
		a.visitDo("show", "show VISIT", "Show one visit, door by door", nil),
		a.visitDo("freeze", "freeze VISIT", "Have planning leave a proposed visit where it is", nil),
		a.visitDo("thaw", "thaw VISIT", "Let planning move a frozen visit again", nil),
		a.visitDo("book", "book VISIT", "Agree on a proposed or held visit", nil),
		a.visitDo("hold", "hold VISIT", "Offer a proposed visit to the customer and keep its time for a while", func(c *cobra.Command, v *visitArgs) {
			c.Flags().DurationVar(&v.For, "for", 48*time.Hour, "how long")
		}),
		a.visitMoveCmd(),
		a.visitDo("cancel", "cancel VISIT", "Call a visit off, or some of its doors; what is due there is planned anew", func(c *cobra.Command, v *visitArgs) {
			c.Flags().StringArrayVar(&v.Doors, "door", nil, "only this door (repeatable)")
			c.Flags().StringVar(&v.Why, "why", "called off by the office", "the reason; whoever is concerned reads it")
		}),
		a.visitDo("close", "close VISIT", "Write down what became of a visit: doors that are not named were done", func(c *cobra.Command, v *visitArgs) {
			c.Flags().StringArrayVar(&v.Shut, "shut", nil, "nobody opened this door (repeatable; all)")
			c.Flags().StringArrayVar(&v.Refused, "refused", nil, "this door was refused (repeatable; all)")
			c.Flags().StringArrayVar(&v.Partial, "partial", nil, "this door's run was cleaned in part (repeatable; all)")
			c.Flags().StringVar(&v.Why, "why", "", "the reason")
		}))
	return c
}

func (a *app) visitPlanCmd(use, short string, write bool) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: use, Short: short, Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[planAnswer](ctx, o, opVisitPlan, planArgs{Write: write}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printPlan(a.Out, got, write)
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func printPlan(w io.Writer, p planAnswer, written bool) error {
	b := &strings.Builder{}
	if written {
		fmt.Fprintf(b, "%s to %s: %d proposed anew, %d moved, %d kept, %d dropped.\n", p.From, p.To, p.New, p.Moved, p.Kept, p.Dropped)
	} else {
		fmt.Fprintf(b, "%s to %s: %d visits would be proposed; nothing was changed.\n", p.From, p.To, p.New)
	}
	if p.Stale > 0 {
		fmt.Fprintf(b, "%d dues changed meanwhile: propose again.\n", p.Stale)
	}
	for _, m := range p.Moves {
		fmt.Fprintf(b, "  %s: %s -> %s: %s\n", plain(m.Where), cmp.Or(m.From, "nowhere"), cmp.Or(m.To, "nowhere"), m.Text)
	}
	if len(p.Late) > 0 {
		fmt.Fprintf(b, "%d cannot be done in time:\n", len(p.Late))
		writeLate(b, p.Late)
	}
	for _, t := range p.Tiers {
		fmt.Fprintf(b, "  %-7s %6d (no plan can have fewer than %d)\n", t.Name, t.Value, t.Bound)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// mostLate is how many late dues are listed.
const mostLate = 30

func writeLate(b *strings.Builder, late []lateLine) {
	for i, l := range late {
		if i == mostLate {
			fmt.Fprintf(b, "  and %d more: see --json\n", len(late)-i)
			return
		}
		done := "not at all"
		if l.On != 0 {
			done = "on " + l.On.String()
		}
		fmt.Fprintf(b, "  %s: %s by %s, done %s: %s\n", plain(l.Where), l.What, l.Latest, done, l.Text)
	}
}

func (a *app) visitListCmd() *cobra.Command {
	var args visitsArgs
	var asJSON bool
	c := &cobra.Command{Use: "list [SITE WORDS...]", Short: "List visits by day, and the days that people asked for",
		RunE: func(c *cobra.Command, words []string) error {
			args.Site = strings.Join(words, " ")
			if args.Max < 0 || args.From != 0 && args.To != 0 && args.To < args.From {
				return usage("--max is 0 or more, and --to is not before --from")
			}
			if args.To != 0 {
				args.To = args.To.AddDays(1)
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[visitsAnswer](ctx, o, opVisits, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printVisits(a.Out, got)
			})
		}}
	dateFlag(c, &args.From, "from", "first day (default today)")
	dateFlag(c, &args.To, "to", "last day")
	c.Flags().StringVar(&args.Technician, "technician", "", "only this technician's")
	c.Flags().BoolVar(&args.Over, "all", false, "those that are over or called off as well")
	c.Flags().IntVar(&args.Max, "max", 0, "show at most this many (0: all)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func printVisits(w io.Writer, got visitsAnswer) error {
	if got.Total == 0 {
		fmt.Fprintln(w, "No visit stands in the calendar.")
	} else {
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "DAY\tTIME\tMIN\tSTATE\tWHO\tWHERE\tDOORS\tID")
		for _, v := range got.Visits {
			state := string(v.State)
			if v.Frozen {
				state += ", frozen"
			}
			var doors []string
			for _, d := range v.Doors {
				if d.Door != "" {
					doors = append(doors, d.Door)
				}
			}
			fmt.Fprintf(t, "%s\t%s\t%d\t%s\t%s\t%s\t%s\t%s\n", v.On, v.Start, v.Minutes, state, plain(v.Technician), plain(v.Where), plain(strings.Join(doors, " ")), v.ID)
		}
		if err := t.Flush(); err != nil {
			return err
		}
		if n := got.Total - len(got.Visits); n > 0 {
			fmt.Fprintf(w, "and %d more\n", n)
		}
	}
	for _, x := range got.Wishes {
		fmt.Fprintf(w, "asked for, %s: %s: %s\n", x.At, plain(x.Where), plain(x.Text))
	}
	return nil
}

// visitDo makes a command that does one thing to one visit.
func (a *app) visitDo(do, use, short string, flags func(*cobra.Command, *visitArgs)) *cobra.Command {
	args := visitArgs{Do: do, At: -1}
	var asJSON bool
	c := &cobra.Command{Use: use, Short: short, Args: exactly("VISIT"),
		RunE: func(c *cobra.Command, words []string) error {
			args.Visit = words[0]
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[visitAnswer](ctx, o, opVisitDo, args, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printVisit(a.Out, do, got)
			})
		}}
	if flags != nil {
		flags(c, &args)
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) visitMoveCmd() *cobra.Command {
	var at string
	var args *visitArgs
	c := a.visitDo("move", "move VISIT", "Put a visit on another day, time or technician", func(c *cobra.Command, v *visitArgs) {
		args = v
		dateFlag(c, &v.On, "on", "the day (default as it is)")
		c.Flags().StringVar(&at, "at", "", "the time, as 09:30 (default as it is)")
		c.Flags().StringVar(&v.Technician, "technician", "", "who makes it (default as it is)")
		c.Flags().StringVar(&v.Why, "why", "", "the reason; whoever is concerned reads it (needed)")
		c.Flags().BoolVar(&v.Force, "force", false, "beyond working hours, access hours and skills; a time that is taken is refused all the same")
	})
	do := c.RunE
	c.RunE = func(c *cobra.Command, words []string) error {
		if args.Why == "" {
			return usage("--why is needed: whoever is concerned reads it")
		}
		if at != "" {
			t, err := time.Parse("15:04", at)
			if err != nil {
				return usage("--at %q: write it as 09:30", at)
			}
			args.At = t.Hour()*60 + t.Minute()
		}
		return do(c, words)
	}
	return c
}

func printVisit(w io.Writer, do string, got visitAnswer) error {
	v := got.Visit
	b := &strings.Builder{}
	switch {
	case got.Known:
		fmt.Fprintln(b, "It is so already; nothing was changed.")
	case got.Dropped:
		fmt.Fprintln(b, "The proposal was dropped; nobody knew of it. What is due there is planned anew.")
	case got.From != "":
		fmt.Fprintf(b, "Moved from %s.\n", got.From)
	case do == "close":
		fmt.Fprintf(b, "Closed: %s; %d findings written, %d dues left for another visit.\n", v.State, got.Findings, got.Left)
	}
	fmt.Fprintf(b, "%s %s, %d minutes (%d on the road before): %s\n  %s, %s; by %s; id %s\n", v.On, v.Start, v.Minutes, v.Drive, strings.ToUpper(string(v.State)),
		plain(v.Where), plain(v.Customer), plain(v.Technician), v.ID)
	if v.Was != "" {
		fmt.Fprintf(b, "  was %s: %s\n", v.Was, plain(v.Why))
	}
	if v.Until != 0 {
		fmt.Fprintf(b, "  held until %s\n", v.Until)
	}
	for _, d := range v.Doors {
		fmt.Fprintf(b, "  %s %s %s: %s (%s)\n", d.Start, plain(cmp.Or(d.Door, "building")), d.State, strings.Join(d.What, ", "), d.ID)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (a *app) visitAheadCmd() *cobra.Command {
	var asJSON bool
	var file string
	c := &cobra.Command{Use: "ahead", Short: "Show the work of the next twelve months, week by week, against what can be done", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[aheadAnswer](ctx, o, opVisitAhead, aheadArgs{Picture: file != ""}, nil)
				if err != nil {
					return err
				}
				if file != "" {
					if err := os.WriteFile(file, []byte(got.Picture), 0o644); err != nil {
						return err
					}
					got.Picture = ""
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				return printAhead(a.Out, got)
			})
		}}
	c.Flags().StringVar(&file, "picture", "", "write the picture to this SVG file")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

// barWide is how many characters a full week's bar has.
const barWide = 30

func printAhead(w io.Writer, x aheadAnswer) error {
	if x.Technicians == 0 {
		_, err := fmt.Fprintln(w, "Nobody makes visits yet: set one up with `ventdue technician set`.")
		return err
	}
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s to %s, %d who make visits. # work, + road, . free, ! more than can be worked.\n", x.From, x.To, x.Technicians)
	fmt.Fprintf(b, "%-10s  %6s  %6s  %6s  %6s  %5s\n", "WEEK OF", "VISITS", "WORK h", "ROAD h", "CAN h", "LATE")
	most := 1
	for _, l := range x.Weeks {
		most = max(most, l.Capacity, l.Work+l.Drive)
	}
	for _, l := range x.Weeks {
		chars := func(minutes int) int { return minutes * barWide / most }
		work, all, can := chars(l.Work), chars(l.Work+l.Drive), chars(l.Capacity)
		bar := strings.Repeat("#", work) + strings.Repeat("+", all-work)
		if all > can {
			bar += "!"
		} else {
			bar += strings.Repeat(".", can-all)
		}
		fmt.Fprintf(b, "%s  %6d  %6.1f  %6.1f  %6.1f  %5d  %s\n", l.Monday, l.Visits, float64(l.Work)/60, float64(l.Drive)/60, float64(l.Capacity)/60, l.Late, bar)
	}
	if len(x.Late) == 0 {
		fmt.Fprintln(b, "Nothing is late if nothing changes.")
	} else {
		fmt.Fprintf(b, "%d are late if nothing changes, %d of them find no room at all:\n", len(x.Late), x.NoRoom)
		writeLate(b, x.Late)
	}
	if n := len(x.Extra); n > 0 {
		fmt.Fprintf(b, "%d more days of one technician would do all that more hands can, the first on %s.\n", n, x.Extra[0].On)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (a *app) visitLinkCmd() *cobra.Command {
	var args linkArgs
	c := &cobra.Command{Use: "link PERSON SITE WORDS...", Short: "Make the address at which a contact books visits to a site",
		Long: "Make the address at which a contact, or who lives there, books, moves and calls off visits to a site. PERSON is an e-mail address, key or id.",
		Args: func(_ *cobra.Command, words []string) error {
			if len(words) < 2 {
				return usage("give a person and words of a site")
			}
			return nil
		},
		RunE: func(c *cobra.Command, words []string) error {
			args = linkArgs{Person: words[0], Site: strings.Join(words[1:], " ")}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[linkAnswer](ctx, o, opVisitLink, args, nil)
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(a.Out, got.Address)
				return err
			})
		}}
	return c
}

func (a *app) technicianCmd() *cobra.Command {
	c := &cobra.Command{Use: "technician", Short: "Say who makes visits, when and from where", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.technicianListCmd(), a.technicianSetCmd(), a.technicianBlockCmd())
	return c
}

func (a *app) askTechnicians(c *cobra.Command, args technicianArgs, asJSON bool) error {
	return a.with(c, func(ctx context.Context, o call.Office) error {
		got, err := call.Ask[technicianAnswer](ctx, o, opTechnician, args, nil)
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(a.Out, got)
		}
		if len(got.Technicians) == 0 {
			fmt.Fprintln(a.Out, "Nobody makes visits yet.")
		}
		for _, p := range got.Technicians {
			home := "home not known"
			if p.Home != nil {
				home = fmt.Sprintf("home %.4f, %.4f", p.Home.Lat, p.Home.Lon)
			}
			fmt.Fprintf(a.Out, "%s  %s  %s; skills: %s  %s\n", plain(p.Name), cmp.Or(p.Hours.String(), "usual hours"), home, cmp.Or(plain(strings.Join(p.Skills, ", ")), "none"), p.ID)
		}
		if got.Blocked != "" {
			fmt.Fprintf(a.Out, "blocked: %s\n", got.Blocked)
		}
		return nil
	})
}

func (a *app) technicianListCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "list", Short: "List who makes visits", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.askTechnicians(c, technicianArgs{List: true}, asJSON)
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) technicianSetCmd() *cobra.Command {
	var args technicianArgs
	var asJSON bool
	var home string
	var leave []string
	c := &cobra.Command{Use: "set NAME", Short: "Set up a technician, or change what is given", Args: exactly("NAME"),
		Long: "Set up a technician, or change what is given; the rest stays. Skills that work may need: gas (licensed to move a gas dryer and to open its\n" +
			"connection), pair (two people come), roof (equipped and trained for roofs).",
		Example: "  ventdue technician set \"Ines Ferro\" --email ines@example.com --hours \"mon-fri 08:00-16:30\" --home 41.88,-87.63 --skill gas --skill roof",
		RunE: func(c *cobra.Command, words []string) error {
			args.Name = words[0]
			if home != "" {
				var p vent.Point
				if _, err := fmt.Sscanf(home, "%f,%f", &p.Lat, &p.Lon); err != nil {
					return usage("--home %q: write latitude and longitude as 41.88,-87.63", home)
				}
				args.Home = &p
			}
			for _, l := range leave {
				from, to, _ := strings.Cut(l, "..")
				a, err := vent.ParseDate(from)
				b, err2 := vent.ParseDate(cmp.Or(to, from))
				if err != nil || err2 != nil {
					return usage("--leave %q: write 2026-12-24..2027-01-02", l)
				}
				args.Leave = append(args.Leave, vent.Leave{From: a, To: b})
			}
			return a.askTechnicians(c, args, asJSON)
		}}
	f := c.Flags()
	f.StringVar(&args.Email, "email", "", "e-mail address")
	f.StringVar(&args.Hours, "hours", "", "working hours, from leaving home to being back")
	f.StringVar(&home, "home", "", "where the day begins and ends: latitude,longitude")
	f.StringArrayVar(&args.Skills, "skill", nil, "gas, pair, roof or another (repeatable)")
	f.StringArrayVar(&leave, "leave", nil, "days without work: 2026-12-24..2027-01-02 (repeatable)")
	f.IntVar(&args.RunMinutes, "run-minutes", 0, "minutes of work on one run")
	f.IntVar(&args.TripMinutes, "trip-minutes", 0, "minutes that every trip takes beside")
	f.IntVar(&args.MaxDues, "max", 0, "most dues on one day")
	f.BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) technicianBlockCmd() *cobra.Command {
	args := technicianArgs{Block: &blockArgs{}}
	var hours string
	var asJSON bool
	c := &cobra.Command{Use: "block NAME", Short: "Take a part of a technician's day for something else", Args: exactly("NAME"),
		Example: "  ventdue technician block ines --on 2026-12-03 --hours 13:00-15:00 --why \"van to the garage\"",
		RunE: func(c *cobra.Command, words []string) error {
			args.Name = words[0]
			w, err := vent.ParseWeek("mon " + hours)
			if err != nil || args.Block.On == 0 {
				return usage("--on is a day and --hours are as 13:00-15:00; both are needed")
			}
			args.Block.Hours = w[time.Monday]
			return a.askTechnicians(c, args, asJSON)
		}}
	dateFlag(c, &args.Block.On, "on", "the day (needed)")
	c.Flags().StringVar(&hours, "hours", "", "from when until when (needed)")
	c.Flags().StringVar(&args.Block.Note, "why", "", "what it is for")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}
