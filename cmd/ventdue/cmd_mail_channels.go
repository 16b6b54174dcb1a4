package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

func (a *app) mailChannelsCmd() *cobra.Command {
	return &cobra.Command{Use: "channels PERSON mail,webhook", Short: "Say by which ways a person is told", Args: exactly("PERSON", "WAYS"),
		Long:    "Say by which ways a person is told: mail, webhook (see webhook.url), or both with a comma between. PERSON is an e-mail address, a key of your own, or an id.",
		Example: "  ventdue mail channels rosa@example.com mail,webhook",
		RunE: func(c *cobra.Command, args []string) error {
			in := mailChannelsArgs{Person: args[0]}
			for w := range strings.SplitSeq(args[1], ",") {
				way := vent.Channel(strings.ToLower(strings.TrimSpace(w)))
				if !slices.Contains(vent.Channels(), way) {
					return usage("%q is no way to tell somebody: it takes mail, webhook, or mail,webhook", w)
				}
				in.Channels = append(in.Channels, way)
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				p, err := call.Ask[vent.Person](ctx, o, opMailChannels, in, nil)
				if err == nil {
					fmt.Fprintf(a.Out, "%s is told by %s.\n", plain(p.Name), args[1])
				}
				return err
			})
		}}
}

type mailChannelsArgs struct {
	Person   string         `json:"person"`
	Channels []vent.Channel `json:"channels"`
}

func (h *house) askMailChannels(_ context.Context, r call.Request, a mailChannelsArgs) (vent.Person, error) {
	id, err := h.desk.FindPerson(a.Person)
	if err != nil {
		return vent.Person{}, err
	}
	return h.desk.SetChannels(by(r), id, a.Channels...)
}
