package demo

import (
	"fmt"
	"math"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// line is one vent run: its row in a list, and what goes through it.
type line struct {
	ref     string
	list    int
	row     row
	build   build
	loads   float64 // a week
	perLoad float64 // share of the bore's radius that a load takes
	real    float64 // what the real duct lets through against the formula
	gauges  gauges  // what can be measured there
	lint    float64 // share of the radius on the day
	day     vent.Date
}

// gauges are what a technician measures with.
type gauges int

const (
	vane      gauges = 1 // air speed at the outlet
	manometer gauges = 2 // static pressure at the dryer
	both             = vane | manometer
	byEye     gauges = 0
)

// visit is one look at a run: what will be written down, but for what the duct shows.
type visit struct {
	found  vent.Finding
	gauges gauges
	left   float64 // share of the lint that stays
	nest   float64 // share of the radius that something took at once
	actor  string
}

// usualPace is what a load takes of the radius in 25 ft of plain duct, in the middle of all runs. No measurement is
// published; with it such a run, used five times a week, is choked after some four years.
const usualPace = 1.1e-4

// newLine puts a run on a list; its life starts with the last cleaning before that.
func (w *world) newLine(in int, r row, b build, loads float64) *line {
	w.runs++
	l := &line{ref: fmt.Sprintf("V-%03d", w.runs), list: in, row: r, build: b, loads: loads,
		perLoad: usualPace * b.pace() * w.things.spread(0.45), real: w.things.spread(0.04), gauges: both}
	r["run_ref"] = l.ref
	b.describe(r)
	l.day, l.lint = w.lists[in].on.AddDays(-w.things.between(60, 400)), w.things.part(0, 0.004)
	w.lists[in].rows = append(w.lists[in].rows, r)
	return l
}

// cleanedBefore tells of the last cleaning before the run came onto the list.
func (l *line) cleanedBefore(by vent.DoerKind) {
	l.row["last_cleaned"], l.row["cleaned_by"], l.row["cleaning_outcome"] = l.day.String(), string(by), string(vent.Full)
	if l.build.metric {
		speed, static := l.build.air(l.lint)
		l.row["speed_after"], l.row["static_after"] = fmt.Sprintf("%.1f m/s", speed), fmt.Sprintf("%.0f Pa", static)
	}
}

// neverCleaned leaves the last cleaning open; it was years ago.
func (l *line) neverCleaned() {
	l.row["last_cleaned"] = "unknown"
	l.day = l.day.AddMonths(-36)
}

// live lets lint grow from visit to visit and writes down what each one found.
func (w *world) live(l *line, visits ...visit) {
	for _, v := range visits {
		days := float64(l.day.DaysUntil(v.found.Date))
		l.lint += l.perLoad * l.loads / 7 * days * w.events.spread(0.1)
		l.day = v.found.Date
		seen := min(0.9, l.lint+v.nest)
		f, gauges := v.found, v.gauges&l.gauges
		weSaw := f.By.Kind == vent.ByUs && f.Looked()
		if weSaw {
			f.LintBefore = grade(seen)
			f.Before = append(w.read(l, gauges, seen), f.Before...)
		}
		if f.Cleaned() {
			l.lint *= v.left
		}
		if weSaw && f.Cleaned() {
			f.LintAfter = grade(l.lint)
			f.After = w.read(l, gauges, l.lint)
			if gauges == both {
				f.After = append(f.After, w.weigh(l.build, seen-l.lint))
			}
		}
		w.findings = append(w.findings, Finding{RunRef: l.ref, Actor: v.actor, Found: f})
	}
}

// grade is what the eye says of lint.
func grade(lint float64) vent.Grade {
	switch {
	case lint < 0.004:
		return vent.Bare
	case lint < 0.02:
		return vent.Film
	case lint < 0.06:
		return vent.Fuzz
	case lint < 0.35:
		return vent.Mat
	}
	return vent.Plugged
}

// read gives the figures of one moment, as far off as instruments and hands are.
func (w *world) read(l *line, g gauges, lint float64) (all []vent.Reading) {
	speed, static := l.build.air(lint)
	conditions := []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen, vent.PushedBack}
	if g&vane != 0 {
		fpm := 10 * math.Round(airflow.MetersPerSecond(speed*l.real*w.events.spread(0.025)).FeetPerMinute()/10)
		all = append(all, vent.Reading{Quantity: vent.AirSpeed, Value: float64(airflow.FeetPerMinute(fpm)),
			Given: fmt.Sprintf("%.0f fpm", fpm), Instrument: "vane anemometer", Place: "outlet", Conditions: conditions})
	}
	if g&manometer != 0 {
		inches := math.Round(100*airflow.Pascals(static*w.events.spread(0.03)).InchesWater()) / 100
		all = append(all, vent.Reading{Quantity: vent.Static, Value: float64(airflow.InchesWater(inches)),
			Given: fmt.Sprintf("%.2f in w.c.", inches), Instrument: "manometer", Place: "dryer outlet", Conditions: conditions})
	}
	return all
}

// weigh gives the lint that was taken out: a layer of 35 kg/m³ on the wall, as a kitchen scale shows it.
func (w *world) weigh(b build, lint float64) vent.Reading {
	radius := b.bore * 0.0254 / 2
	kilos := 35 * 2 * math.Pi * radius * b.feet * 0.3048 * lint * radius * w.events.spread(0.3)
	grams := max(1, math.Round(1000*kilos))
	return vent.Reading{Quantity: vent.LintMass, Value: grams / 1000, Given: fmt.Sprintf("%.0f g", grams), Instrument: "scale"}
}

// full is a whole cleaning by one of us, measured before and after.
func (w *world) full(on vent.Date, t technician) visit {
	v := visit{found: ours(on, t), gauges: pick(w.events, vane, vane, vane, both), left: w.events.part(0.02, 0.10), actor: string(t)}
	v.found.Outcome, v.found.Reach = vent.Full, vent.ReachThrough
	v.found.Note = pick(w.events, "", "", "", "", "Screen washed as well.", "Flap freed and wiped.", "Transition straightened when the dryer went back.")
	return v
}

func ours(on vent.Date, t technician) vent.Finding {
	return vent.Finding{Date: on, Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: string(t)}}
}

// poor is a cleaning that reached one end only.
func (w *world) poor(on vent.Date, t technician, why string) visit {
	v := w.full(on, t)
	v.found.Outcome, v.found.Reach, v.found.Note = vent.OneEnd, vent.ReachDryer, why
	v.left = w.events.part(0.55, 0.75)
	return v
}

// shut is a visit at which nobody opened.
func shut(on vent.Date, t technician) visit {
	v := visit{found: ours(on, t), actor: string(t)}
	v.found.Outcome, v.found.Reach = vent.Failed, vent.ReachNone
	v.found.Note = "Nobody opened; a card was left."
	return v
}

// looked is a look without cleaning.
func looked(on vent.Date, t technician, g gauges, note string) visit {
	v := visit{found: ours(on, t), gauges: g, actor: string(t)}
	v.found.Outcome, v.found.Note = vent.LookedOnly, note
	return v
}

// unmeasured is a cleaning by somebody else, as they told it to the office.
func unmeasured(on vent.Date, by vent.DoerKind, name, note string, left float64) visit {
	return visit{left: left, actor: "office",
		found: vent.Finding{Date: on, Source: string(by), By: vent.Doer{Kind: by, Name: name}, Outcome: vent.Full, Note: note}}
}

// back gives days from the last one back to the first that can be, oldest first.
func (w *world) back(last, first vent.Date, every, jitter int) []vent.Date {
	var days []vent.Date
	for d := last; d > first.AddDays(7); d = d.AddDays(-every - w.events.between(-jitter, jitter)) {
		days = append([]vent.Date{workday(d)}, days...)
	}
	return days
}
