package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"ventdue/config"
	"ventdue/vent"
)

// The exit codes of every command.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2 // wrong use: the command line itself cannot be meant
)

// stdio is where a command reads and writes.
type stdio struct {
	In       io.Reader
	Out, Err io.Writer
}

// app is what every command shares: where it reads its settings and writes its words.
type app struct {
	stdio
	env   []string
	now   func() time.Time
	flags config.Options // of the command that runs; filled by cobra
}

// usageError marks an error as the caller's wrong use.
type usageError struct{ error }

func (u usageError) Unwrap() error { return u.error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// run does what the command line says and gives the exit code.
func run(ctx context.Context, args, env []string, io stdio) int {
	a := &app{stdio: io, env: env, now: time.Now}
	return a.run(ctx, args)
}

func (a *app) run(ctx context.Context, args []string) int {
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.In)
	root.SetOut(a.Out)
	root.SetErr(a.Err)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitDone
	}
	var use usageError
	if errors.As(err, &use) {
		fmt.Fprintf(a.Err, "ventdue: %v\nRun `ventdue --help`, or the command with --help, to see how it is used.\n", err)
		return exitUsage
	}
	a.complain(err)
	return exitFailed
}

// complain writes an error for a person: problems one a line.
func (a *app) complain(err error) {
	var p vent.Problems
	if errors.As(err, &p) && len(p) > 1 {
		fmt.Fprintln(a.Err, "ventdue: this cannot be taken:")
		for _, x := range p {
			fmt.Fprintf(a.Err, "  %s\n", x)
		}
		return
	}
	fmt.Fprintf(a.Err, "ventdue: %s\n", forPeople(err.Error()))
}

// forPeople leaves out the class at an error's end, which is for programs: the words before it say more. Only behind a
// bare id, "run 0197…: not found", it is all that is said.
func forPeople(text string) string {
	if of, missing := strings.CutSuffix(text, ": "+vent.ErrNotFound.Error()); missing {
		if _, err := vent.ParseID(of[strings.LastIndexByte(of, ' ')+1:]); err == nil {
			return of + " does not exist"
		}
	}
	for _, class := range []error{vent.ErrConflict, vent.ErrNotFound, vent.ErrInvalid} {
		text = strings.TrimSuffix(text, ": "+class.Error())
	}
	return text
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "ventdue",
		Short: "Keeps dryer vents from filling with lint: due dates, reminders, calendars",
		Long: `Ventdue keeps dryers' exhaust vent runs from filling with lint.

It stores each customer's dryers and vent runs, works out when each run must be opened again, publishes
calendar feeds and sends reminders. Start with ` + "`ventdue demo`" + `, or with ` + "`ventdue serve`" + ` and ` + "`ventdue import FILE`" + `.

A date here is advice, not a permit to wait. If a dryer smells of burning, stop it, leave and call the
emergency number. Local codes and the maker's instructions come first.

Exit codes: 0 done, 1 failed, 2 wrong use.`,
		Version:       version(),
		SilenceErrors: true, SilenceUsage: true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("there is no command %q", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.CompletionOptions.HiddenDefaultCmd = true
	config.AddFlags(root.PersistentFlags(), "data")
	root.PersistentFlags().StringVar(&a.flags.File, "config", "", "settings file (default: ventdue.yaml or ventdue.toml where the README says)")
	root.AddCommand(a.serveCmd(), a.demoCmd(), a.setupCmd(), a.importCmd(), a.exportCmd(), a.dueCmd(), a.explainCmd(), a.recordCmd(),
		a.faultCmd(), a.checkCmd(), a.signCmd(), a.rulesCmd(), a.visitsCmd(), a.technicianCmd(),
		a.estimateCmd(), a.sizeCmd(), a.backtestCmd(),
		a.feedCmd(), a.mailCmd(), a.backupCmd(), a.verifyCmd(), a.restoreCmd(), a.eraseCmd(), a.accountCmd(), a.tokenCmd(), a.statusCmd(), a.healthcheckCmd(), a.versionCmd())
	exemplify(root)
	return root
}

// exactly refuses another number of arguments, saying what they are.
func exactly(names ...string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != len(names) {
			return usage("it takes %d argument(s) %v, %d given", len(names), names, len(args))
		}
		return nil
	}
}

// load reads the settings for the command that runs.
func (a *app) load(c *cobra.Command) (config.Config, error) {
	o := a.flags
	o.Env, o.Flags, o.CheckSpec = a.env, c.Flags(), checkSpec(a.now)
	o.CheckHours = func(hours string) error {
		_, err := vent.ParseWeek(hours)
		return err
	}
	if o.File == "" {
		o.Search = config.DefaultFiles(a.env)
	}
	return config.Load(o)
}
