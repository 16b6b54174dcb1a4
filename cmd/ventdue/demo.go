package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/demo"
	"ventdue/config"
	"ventdue/desk"
	"ventdue/notify"
	"ventdue/store"
	"ventdue/vent"
)

// demoSeed makes the invented scenario the same every time.
const demoSeed = 20260311

func (a *app) demoCmd() *cobra.Command {
	var seed uint64
	c := &cobra.Command{
		Use: "demo", Short: "Show everything at once on an invented scenario; nothing to set up", Args: exactly(),
		Example: "  ventdue demo\n  ventdue demo --seed 7 --web-listen 127.0.0.1:8020",
		Long: `Run the daemon on an invented service business: 60 customers, a landlord with 3 buildings and 84 flats, one household,
several years of findings, three technicians and their visits of the next weeks. Data and mails go to a new temporary folder, which is removed at the end. No mail leaves
the machine.`,
		RunE: func(c *cobra.Command, _ []string) error {
			dir, err := os.MkdirTemp("", "ventdue-demo-")
			if err != nil {
				return err
			}
			defer os.RemoveAll(dir)
			return a.demo(c, dir, seed)
		},
	}
	config.AddFlags(c.Flags(), "web.listen")
	c.Flags().Uint64Var(&seed, "seed", demoSeed, "another number gives another scenario")
	return c
}

// demo fills a folder with the scenario and serves it. Settings of a real installation do not reach it.
func (a *app) demo(c *cobra.Command, dir string, seed uint64) error {
	env := []string{"VENTDUE_DATA=" + dir, "VENTDUE_MAIL_FOLDER=" + filepath.Join(dir, "mail"), "VENTDUE_MAIL_WINDOW=00:00-24:00",
		"VENTDUE_LOG_LEVEL=warn", "VENTDUE_WEB_LISTEN=127.0.0.1:0", "VENTDUE_MAIL_FROM=Harbor Dryer Care <office@example.com>"}
	cfg, err := config.Load(config.Options{Env: env, Flags: c.Flags(), CheckSpec: checkSpec(a.now)})
	if err != nil {
		return err
	}
	d, err := a.newDaemon(cfg, store.Options{NoSync: true})
	if err != nil {
		return err
	}
	s := demo.New(seed, vent.DateOf(a.now()))
	if err := demo.Load(c.Context(), d.house.desk, s); err != nil {
		_ = d.house.Close()
		return fmt.Errorf("demo: %w", err)
	}
	feeds, err := demo.Feeds(d.house.desk, desk.By{Now: a.now(), Actor: "demo"})
	if err != nil {
		_ = d.house.Close()
		return fmt.Errorf("demo: %w", err)
	}
	d.told = func(base string) { a.showDemo(base, dir, feeds, seed) }
	return d.run(c.Context())
}

func (a *app) showDemo(base, dir string, feeds []desk.NewFeed, seed uint64) {
	fmt.Fprintf(a.Out, `Ventdue demo: an invented service business (seed %d). Everybody and every street in it is made up.

  What is due:         %s/
  Visits of the crew:  %s/visits
  Reminders:           %s   (one .eml file each; they appear within a few seconds)
  Calendar addresses:
`, seed, base, base, filepath.Join(dir, "mail"))
	for _, f := range feeds {
		fmt.Fprintf(a.Out, "    %s%s%s.ics   %s\n", base, notify.FeedPath, f.Token, f.Feed.Name)
	}
	fmt.Fprintf(a.Out, `
In another terminal: ventdue --data %s due
Press Ctrl-C to stop; the data is then removed.
`, dir)
}
