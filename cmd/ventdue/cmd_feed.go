package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

func (a *app) feedCmd() *cobra.Command {
	c := &cobra.Command{Use: "feed", Short: "Make, list and withdraw calendar addresses", Args: exactly(),
		Long: "A feed is a secret calendar address. Whoever knows it sees what is due; it is shown once, when it is made.",
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.feedListCmd(), a.feedMakeCmd(),
		a.feedChangeCmd("rotate", "Give a feed a new address; the old one says for 30 days that it was replaced", opFeedRotate),
		a.feedChangeCmd("revoke", "Withdraw a feed's address", opFeedRevoke))
	return c
}

func (a *app) feedListCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "list", Short: "List feeds and who read them last", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[[]feedLine](ctx, o, opFeeds, noArgs{}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				t := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
				fmt.Fprintln(t, "ID\tNAME\tSHOWS\tLAST FETCHED\tBY\tWITHDRAWN")
				for _, f := range got {
					fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", f.ID, plain(f.Name), plain(f.Shows), f.Fetched, plain(f.FetchedBy), f.Revoked)
				}
				return t.Flush()
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) feedMakeCmd() *cobra.Command {
	var args feedMakeArgs
	var asJSON bool
	var only []string
	c := &cobra.Command{Use: "make", Short: "Make a calendar address for everything, one customer, one site or one technician", Args: exactly(),
		Example: "  ventdue feed make\n  ventdue feed make --customer \"Rivera\"\n  ventdue feed make --site \"Maple House\" --alarms --tasks\n  ventdue feed make --technician Lee --only visits",
		RunE: func(c *cobra.Command, _ []string) error {
			if one := []string{args.Customer, args.Site, args.Technician}; len(slices.DeleteFunc(one, func(s string) bool { return s == "" })) > 1 {
				return usage("--customer, --site and --technician exclude each other")
			}
			for _, p := range only {
				part := vent.FeedPart(strings.TrimSpace(p))
				if !slices.Contains(vent.FeedParts(), part) {
					return usage("--only %s: it takes dues, checks and visits", p)
				}
				args.Shows = append(args.Shows, part)
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[feedLine](ctx, o, opFeedMake, args, nil)
				return a.showFeed(got, err, asJSON)
			})
		}}
	c.Flags().StringVar(&args.Customer, "customer", "", "the customer: words that fit its name, your own key of it, or its id")
	c.Flags().StringVar(&args.Site, "site", "", "the site: words that fit its name or address, your own key of it, or its id")
	c.Flags().StringVar(&args.Technician, "technician", "", "somebody who works here, by words of the name or an id: shows their visits")
	c.Flags().StringVar(&args.For, "for", "", "whose feed it is: an e-mail address, a key of your own, or an id")
	c.Flags().StringSliceVar(&only, "only", nil, "show only these: dues, checks, visits")
	c.Flags().BoolVar(&args.Tasks, "tasks", false, "list each due as a task as well; few calendars show tasks of a subscription")
	c.Flags().StringVar(&args.Name, "name", "", "what to call it in lists")
	c.Flags().BoolVar(&args.Alarms, "alarms", false, "put alarms into the entries; many calendars drop them")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) feedChangeCmd(name, short, op string) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: name + " FEED", Short: short,
		Long:    short + ". FEED is its id, or words that fit its name, or the name, address or own key of the customer or site that it shows.",
		Example: "  ventdue feed " + name + " \"Maple House\"\n  ventdue feed " + name + " C-104\n  ventdue feed " + name + " everything",
		RunE: func(c *cobra.Command, args []string) error {
			what := feedArgs{strings.Join(args, " ")}
			if what.Feed == "" {
				return usage("which feed? Give its id, its name, or the customer or site that it shows")
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				if op == opFeedRevoke {
					got, err := call.Ask[feedLine](ctx, o, op, what, nil)
					if err != nil {
						return err
					}
					if asJSON {
						return printJSON(a.Out, got)
					}
					_, err = fmt.Fprintf(a.Out, "%s (%s) is withdrawn. For 30 days the address says so, then it is gone.\n", plain(got.Name), plain(got.Shows))
					return err
				}
				got, err := call.Ask[feedLine](ctx, o, op, what, nil)
				return a.showFeed(got, err, asJSON)
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) showFeed(f feedLine, err error, asJSON bool) error {
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(a.Out, f)
	}
	_, err = fmt.Fprintf(a.Out, "%s\n\nThis calendar address shows %s. It is secret and shown only now: paste it into a calendar as a subscription.\nWithdraw it with: ventdue feed revoke %s\n", f.Address, plain(f.Shows), f.ID)
	return err
}
