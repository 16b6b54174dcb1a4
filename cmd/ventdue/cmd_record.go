package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// recordFlags are a finding as the command line says it.
type recordFlags struct {
	date                                vent.Date
	by, byName, outcome, reach          string
	lintBefore, lintAfter, note, source string
	speedBefore, speedAfter             string
	staticBefore, staticAfter           string
	flowBefore, flowAfter               string
	sudden                              bool
	file, correct, symptom              string
	faults, fixed, parts, closeOut      []string
	photos                              []string // files
	counter                             int64
	asJSON                              bool
}

func (a *app) recordCmd() *cobra.Command {
	var f recordFlags
	c := &cobra.Command{
		Use:   "record RUN",
		Short: "Write down what a look at a run found and did",
		Long: `Write down what one look at a run found and what was done. The due that it settles closes, the next one opens.

RUN is its id, its run_ref, or words that fit one run. Figures carry their unit: "1250 fpm", "6.3 m/s",
"0.45 in w.c.", "112 Pa", "130 cfm", "61 L/s". With --file, the finding is read as JSON ("-" reads standard input).
Recording the same again changes nothing. A finding is never overwritten: --correct ID replaces it, and the
old one stays in the history.`,
		Example: `  ventdue record maple 3B --date 2026-11-20 --outcome full --reach through --lint-before mat --speed-after "1480 fpm"
  ventdue record R-1042 --outcome looked --lint-before film --speed-before "1250 fpm"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usage("which run? give its id, its run_ref, or words of its site, unit and name")
			}
			return nil
		},
		RunE: func(c *cobra.Command, words []string) error { return a.record(c, strings.Join(words, " "), f) },
	}
	dateFlag(c, &f.date, "date", "day of the look (default today)")
	s := c.Flags()
	s.StringVar(&f.outcome, "outcome", "", "looked, full, partial, one_end or failed")
	s.StringVar(&f.reach, "reach", "", "how far it was cleaned or seen: through, dryer_side, hood_side or none")
	s.StringVar(&f.by, "by", string(vent.ByUs), "who did it: us, customer, other_firm or unknown")
	s.StringVar(&f.byName, "by-name", "", "the person's name")
	s.StringVar(&f.lintBefore, "lint-before", "", "lint by sight before: bare, film, fuzz, mat or plugged")
	s.StringVar(&f.lintAfter, "lint-after", "", "lint by sight after")
	s.StringVar(&f.speedBefore, "speed-before", "", "air speed at the outlet before")
	s.StringVar(&f.speedAfter, "speed-after", "", "air speed at the outlet after")
	s.StringVar(&f.staticBefore, "static-before", "", "static pressure at the dryer before")
	s.StringVar(&f.staticAfter, "static-after", "", "static pressure at the dryer after")
	s.StringVar(&f.flowBefore, "flow-before", "", "flow before")
	s.StringVar(&f.flowAfter, "flow-after", "", "flow after")
	s.BoolVar(&f.sudden, "sudden", false, "what was found came at once (a nest, a crushed elbow), not by lint growing")
	s.StringArrayVar(&f.faults, "fault", nil, "id of a fault that was seen (repeatable; `ventdue rules` lists them)")
	s.StringArrayVar(&f.fixed, "fixed", nil, "id of a fault that was put right (repeatable)")
	s.StringArrayVar(&f.parts, "part", nil, `check of a part (repeatable): "thermal_fuse=open,replaced", "heater=good,11.4 ohm", "heater=shorted_to_case,200 ohm,case"`)
	s.StringArrayVar(&f.closeOut, "close-out", nil, "line of the close-out list that was done (repeatable); read_after_push_back marks the last readings so")
	s.StringVar(&f.symptom, "symptom", "", "how the dryer failed: no_start, no_heat, no_heat_one_setting or overheats")
	s.StringArrayVar(&f.photos, "photo", nil, "jpeg or png file to keep with the finding (repeatable); where it was taken is not kept")
	s.Int64Var(&f.counter, "counter", 0, "loads on the machine's own counter")
	s.StringVar(&f.note, "note", "", "anything else")
	s.StringVar(&f.source, "source", "visit", "where this comes from; with run and day it names the finding")
	s.StringVar(&f.file, "file", "", "read the finding as JSON from this file")
	s.StringVar(&f.correct, "correct", "", "id of the finding that this one replaces")
	s.BoolVar(&f.asJSON, "json", false, "write JSON")
	return c
}

func (a *app) record(c *cobra.Command, run string, f recordFlags) error {
	args := recordArgs{Run: run}
	var err error
	if f.file != "" {
		args.Finding, err = a.readFinding(f.file)
	} else {
		args.Finding, err = f.finding(a.now())
	}
	if err != nil {
		return err
	}
	if f.correct != "" {
		if args.Correct, err = vent.ParseID(f.correct); err != nil {
			return usageError{err}
		}
	}
	if len(args.Finding.Photos)+len(f.photos) > desk.MaxPhotos {
		return usage("--photo: at most %d photos go with one finding", desk.MaxPhotos)
	}
	return a.with(c, func(ctx context.Context, o call.Office) error {
		for _, file := range f.photos {
			p, err := sendPhoto(ctx, o, file)
			if err != nil {
				return err
			}
			args.Finding.Photos = append(args.Finding.Photos, p)
		}
		got, err := call.Ask[recordAnswer](ctx, o, opRecord, args, nil)
		if err != nil {
			return err
		}
		if f.asJSON {
			return printJSON(a.Out, got)
		}
		if got.Known {
			fmt.Fprintf(a.Out, "%s: this was recorded before; nothing was changed.\n", plain(got.Where))
		} else {
			fmt.Fprintf(a.Out, "%s: recorded as finding %s.\n", plain(got.Where), got.Finding)
		}
		if err := printFollows(a.Out, got); err != nil {
			return err
		}
		fmt.Fprintln(a.Out, "Now due there:")
		return printLines(a.Out, got.Dues)
	})
}

// sendPhoto hands a photo's bytes over: whoever keeps it may see other files than this command does.
func sendPhoto(ctx context.Context, o call.Office, file string) (vent.Photo, error) {
	in, err := os.Open(file)
	if err != nil {
		return vent.Photo{}, err
	}
	defer in.Close()
	p, err := call.Ask[vent.Photo](ctx, o, opPhoto, photoArgs{Name: filepath.Base(file)}, in)
	if err != nil {
		return p, fmt.Errorf("--photo %s: %w", file, err)
	}
	return p, nil
}

// printFollows prints what follows from a finding besides dates.
func printFollows(w io.Writer, got recordAnswer) error {
	if len(got.Faults) > 0 {
		if err := printFaults(w, got.Faults); err != nil {
			return err
		}
	}
	for _, x := range []struct {
		title string
		lines []string
	}{{"Parts:", got.Parts}, {"To look at next:", got.Next}, {"Care:", got.Cautions}, {"Not yet confirmed, the visit is not done:", got.Missing}} {
		if len(x.lines) == 0 {
			continue
		}
		fmt.Fprintln(w, x.title)
		for _, l := range x.lines {
			fmt.Fprintf(w, "  - %s\n", plain(l))
		}
	}
	return nil
}

// readFinding reads a whole finding; a field it does not know is refused by name.
func (a *app) readFinding(file string) (f vent.Finding, err error) {
	in := a.In
	if file != "-" {
		h, err := os.Open(file)
		if err != nil {
			return f, err
		}
		defer h.Close()
		in = h
	}
	d := json.NewDecoder(io.LimitReader(in, 8<<20))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return f, fmt.Errorf("finding in %s: %w", file, err)
	}
	if f.Source == "" {
		f.Source = "visit"
	}
	return f, nil
}

// finding turns flags into a finding. What cannot be read is wrong use and names its flag.
func (f recordFlags) finding(now time.Time) (vent.Finding, error) {
	if f.outcome == "" {
		return vent.Finding{}, usage("--outcome is missing: looked, full, partial, one_end or failed")
	}
	out := vent.Finding{
		Date: f.date, Source: f.source, By: vent.Doer{Kind: vent.DoerKind(f.by), Name: f.byName},
		Outcome: vent.Outcome(f.outcome), Reach: vent.Reach(f.reach),
		LintBefore: vent.Grade(f.lintBefore), LintAfter: vent.Grade(f.lintAfter), Note: f.note, Sudden: f.sudden,
		Faults: f.faults, Fixed: f.fixed, CloseOut: f.closeOut, Symptom: vent.Symptom(f.symptom), LoadCounter: f.counter,
	}
	if out.Date == 0 {
		out.Date = vent.DateOf(now)
	}
	var err error
	if out.Before, err = readings("before", f.speedBefore, f.staticBefore, f.flowBefore); err != nil {
		return out, err
	}
	if out.After, err = readings("after", f.speedAfter, f.staticAfter, f.flowAfter); err != nil {
		return out, err
	}
	if slices.Contains(out.CloseOut, rules.CloseReadLast) {
		pushedBack(out.After)
		if !out.Cleaned() {
			pushedBack(out.Before)
		}
	}
	for _, text := range f.parts {
		c, err := partCheck(text)
		if err != nil {
			return out, err
		}
		out.Parts = append(out.Parts, c)
	}
	return out, nil
}

// pushedBack notes of readings that the dryer stood in its place.
func pushedBack(all []vent.Reading) {
	for i := range all {
		all[i].Conditions = append(all[i].Conditions, vent.PushedBack)
	}
}

// partCheck reads "part=result", with a reading, "case" and "replaced" behind it, parted by commas.
func partCheck(text string) (c vent.PartCheck, _ error) {
	part, rest, ok := strings.Cut(text, "=")
	words := strings.Split(rest, ",")
	c.Part, c.Result = strings.TrimSpace(part), strings.TrimSpace(words[0])
	if !ok || c.Part == "" || c.Result == "" {
		return c, usage(`--part %q: write part=result, for example "thermal_fuse=open,replaced"`, text)
	}
	place := ""
	for _, w := range words[1:] {
		switch w = strings.TrimSpace(w); w {
		case "replaced":
			c.Replaced = true
		case rules.ToCase:
			place = rules.ToCase
		default:
			if c.Reading != nil {
				return c, usage("--part %q: one reading each", text)
			}
			r, err := vent.ParseMeter(w)
			if err != nil {
				return c, usage("--part %q: %w", text, err)
			}
			c.Reading = &r
		}
	}
	if place != "" && c.Reading == nil {
		return c, usage(`--part %q: "case" says where a reading was taken; give the reading too`, text)
	}
	if c.Reading != nil {
		c.Reading.Place = place
	}
	return c, nil
}

func readings(when, speed, static, flow string) (all []vent.Reading, err error) {
	var problems []error
	add := func(flag, text string, q vent.Quantity, parse func(string) (float64, error)) {
		if text == "" {
			return
		}
		v, err := parse(text)
		if err != nil {
			problems = append(problems, usage("--%s-%s: %w", flag, when, err))
			return
		}
		all = append(all, vent.Reading{Quantity: q, Value: v, Given: text})
	}
	add("speed", speed, vent.AirSpeed, in(airflow.ParseSpeed))
	add("static", static, vent.Static, in(airflow.ParsePressure))
	add("flow", flow, vent.Flow, in(airflow.ParseFlow))
	return all, errors.Join(problems...)
}

// in makes a unit's parser give a bare SI figure.
func in[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(s string) (float64, error) {
		v, err := parse(s)
		return float64(v), err
	}
}
