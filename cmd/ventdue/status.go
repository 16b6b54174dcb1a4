package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/scheduler/clockwork"
)

const opStatus = "status"

// statusAnswer is how the daemon's clock stands.
type statusAnswer struct {
	Version  string      `json:"version"`
	Pages    string      `json:"pages"`
	Data     string      `json:"data"`
	LastTick time.Time   `json:"last_tick"`
	Doubted  string      `json:"clock_doubted,omitempty"`
	NotReady string      `json:"not_ready,omitempty"`
	Jobs     []jobStatus `json:"jobs"`
}

type jobStatus struct {
	Name        string    `json:"name"`
	Spec        string    `json:"spec"`
	LastSuccess time.Time `json:"last_success,omitzero"`
	LastError   string    `json:"last_error,omitempty"`
	Failures    int       `json:"failures,omitempty"`
	Next        time.Time `json:"next,omitzero"`
}

func (d *theDaemon) askStatus(context.Context, call.Request, noArgs) (statusAnswer, error) {
	s := d.clock.Status()
	out := statusAnswer{Version: version(), Pages: d.live.Load().cfg.Web.BaseURL, Data: d.house.store.Path(), LastTick: s.LastTick,
		Doubted: s.Suspicion.Reason, NotReady: d.ready()}
	for _, j := range s.Jobs {
		out.Jobs = append(out.Jobs, jobOf(j))
	}
	return out, nil
}

func jobOf(j clockwork.JobStatus) jobStatus {
	s := jobStatus{Name: j.Name, Spec: j.Spec, LastSuccess: j.LastSuccess, Failures: j.Failures, Next: j.Next}
	if j.LastError != nil && j.Failures > 0 {
		s.LastError = j.LastError.Error()
	}
	return s
}

func (d *theDaemon) askAcceptClock(context.Context, call.Request, noArgs) (noArgs, error) {
	return noArgs{}, d.clock.AcceptClock()
}

const opAcceptClock = "clock.accept"

func (a *app) statusCmd() *cobra.Command {
	var asJSON, accept bool
	c := &cobra.Command{Use: "status", Short: "Show what the daemon does and did", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			cfg, err := a.load(c)
			if err != nil {
				return err
			}
			d, err := call.Dial(cfg.Socket, version())
			if errors.Is(err, call.ErrNoDaemon) {
				return fmt.Errorf("no daemon runs on %s: start it with `ventdue serve`", cfg.Data)
			}
			if err != nil {
				return err
			}
			if accept {
				if _, err := call.Ask[noArgs](c.Context(), d, opAcceptClock, noArgs{}, nil); err != nil {
					return err
				}
			}
			got, err := call.Ask[statusAnswer](c.Context(), d, opStatus, noArgs{}, nil)
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(a.Out, got)
			}
			return a.printStatus(got)
		}}
	c.Flags().BoolVar(&accept, "accept-clock", false, "say that the machine's clock is right, after it was doubted")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) printStatus(s statusAnswer) error {
	fmt.Fprintf(a.Out, "Version %s, pages at %s, data in %s\n", s.Version, s.Pages, s.Data)
	if s.NotReady != "" {
		fmt.Fprintf(a.Out, "NOT READY: %s\n", s.NotReady)
	}
	t := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "JOB\tWHEN\tLAST DONE\tNEXT\tTROUBLE")
	for _, j := range s.Jobs {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", j.Name, j.Spec, stamp(j.LastSuccess), stamp(j.Next), plain(j.LastError))
	}
	return t.Flush()
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}
