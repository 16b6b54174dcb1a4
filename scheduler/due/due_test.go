package due

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ventdue/vent"
)

func day(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func TestPolicyNamesWhatCannotBe(t *testing.T) {
	if err := Default().Validate(); err != nil {
		t.Fatal(err)
	}
	for field, change := range map[string]func(*Policy){
		"risk":            func(p *Policy) { p.Risk = math.NaN() },
		"risk_careful":    func(p *Policy) { p.RiskCareful = 0.2 },
		"shortest_days":   func(p *Policy) { p.ShortestDays = 0 },
		"longest_months":  func(p *Policy) { p.LongestMonths = 36 },
		"unproven_months": func(p *Policy) { p.UnprovenMonths = 18 },
		"look_months":     func(p *Policy) { p.LookMonths = -1 },
	} {
		p := Default()
		change(&p)
		if err := p.Validate(); !errors.Is(err, vent.ErrInvalid) || !strings.Contains(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// Every danger makes a run whose last cleaning is not known worse, and none makes it worse than the worst.
func TestWorstRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Danger{
			Signs: rapid.IntRange(0, 5).Draw(t, "signs"), Gas: rapid.Bool().Draw(t, "gas"), Foil: rapid.Bool().Draw(t, "foil"),
			PastFuse: rapid.Bool().Draw(t, "fuse"), Roof: rapid.Bool().Draw(t, "roof"), Meters: rapid.Float64Range(0, 60).Draw(t, "length"),
		}
		before := Worst(d)
		if before < 0 || before >= 1 {
			t.Fatal(before)
		}
		for name, worse := range map[string]Danger{
			"sign":   func(d Danger) Danger { d.Signs++; return d }(d),
			"gas":    func(d Danger) Danger { d.Gas = true; return d }(d),
			"foil":   func(d Danger) Danger { d.Foil = true; return d }(d),
			"fuse":   func(d Danger) Danger { d.PastFuse = true; return d }(d),
			"roof":   func(d Danger) Danger { d.Roof = true; return d }(d),
			"length": func(d Danger) Danger { d.Meters += 5; return d }(d),
		} {
			if Worst(worse) < before {
				t.Fatalf("%s made %+v better", name, d)
			}
		}
	})
}

func TestSeasons(t *testing.T) {
	lat := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		lat  *float64
		span func(*float64) span
		on   string
		want string // last day before; "" not in the span
	}{
		{nil, frost, "2026-01-15", ""},
		{lat(20), frost, "2026-01-15", ""},
		{lat(42), deepWinter, "2026-01-15", "2025-12-14"},
		{lat(42), deepWinter, "2025-12-15", "2025-12-14"},
		{lat(42), deepWinter, "2025-12-14", ""},
		{lat(42), deepWinter, "2026-03-01", ""},
		{lat(42), frost, "2025-11-20", "2025-11-14"},
		{lat(55), frost, "2026-03-31", "2025-10-31"},
		{lat(-42), deepWinter, "2026-07-15", "2026-06-14"},
		{lat(-42), deepWinter, "2026-01-15", ""},
		{lat(-42), deepWinter, "2026-08-31", "2026-06-14"},
		{lat(-42), deepWinter, "2026-09-01", ""},
		{lat(math.NaN()), frost, "2026-01-15", ""},
	} {
		got, ok := c.span(c.lat).before(day(c.on))
		if ok != (c.want != "") || ok && got != day(c.want) {
			t.Errorf("%v %s: %s %v, want %s", c.lat, c.on, got, ok, c.want)
		}
	}
}

// plain is a run with a straight course: the chance rises by a tenth every so many days.
func plain(daysPerTenth int) Facts {
	since := day("2025-01-01")
	return Facts{
		Run: vent.Run{ID: vent.ID{1}, Known: since}, Since: since, Opener: vent.ID{1},
		Chance: func(d vent.Date) float64 {
			return min(1, max(0, float64(since.DaysUntil(d))/float64(10*daysPerTenth)))
		},
		Day: func(p float64) vent.Date { return since.AddDays(int(math.Ceil(p * float64(10*daysPerTenth)))) },
	}
}

func TestCleanWithinBounds(t *testing.T) {
	p := Default()
	for _, c := range []struct {
		name   string
		change func(*Facts)
		days   int // a tenth is reached after
		want   string
		bound  vent.Bound
	}{
		{"by the model", func(*Facts) {}, 200, "2025-07-20", vent.BoundNone},
		{"not sooner than a month", func(*Facts) {}, 5, "2025-01-31", vent.BoundShortest},
		{"a year without evidence", func(*Facts) {}, 900, "2026-01-01", vent.BoundNoEvidence},
		{"two years with evidence", func(f *Facts) { f.Supports = true }, 900, "2027-01-01", vent.BoundLongest},
		{"never two years for gas", func(f *Facts) { f.Supports, f.Gas = true, true }, 900, "2026-01-01", vent.BoundNoEvidence},
		{"half the risk for flats", func(f *Facts) { f.MultiFamily = true }, 200, "2025-04-11", vent.BoundNone},
		{"an insurer's half year", func(f *Facts) { f.Run.Ceilings = []vent.Ceiling{{Months: 6, Source: "insurer"}} }, 900, "2025-07-01", vent.BoundCeiling},
		{"seen past its limit", func(f *Facts) { f.Past, f.LastFinding = day("2025-03-03"), day("2025-03-03") }, 900, "2025-03-03", vent.BoundPastLimit},
		{"a look that shows it is due", func(f *Facts) { f.LastFinding = day("2025-08-01") }, 200, "2025-08-01", vent.BoundNone},
	} {
		f := plain(c.days)
		c.change(&f)
		w := Clean(f, p, nil)
		if w.Day != day(c.want) || w.Reason.Bound != c.bound {
			t.Errorf("%s: %s by %q, want %s by %q", c.name, w.Day, w.Reason.Bound, c.want, c.bound)
		}
		if w.Earliest > w.Day || w.Latest < w.Day {
			t.Errorf("%s: window %s to %s round %s", c.name, w.Earliest, w.Latest, w.Day)
		}
	}
}

func TestLookIsLeftOutWhereACleaningComesFirst(t *testing.T) {
	f := plain(900)
	f.Supports = true
	f.Looked, f.Saw = f.Since, vent.ID{2}
	p := Default()
	clean := Clean(f, p, nil)
	w, ok := Look(f, p, clean, nil)
	if !ok || w.Day != day("2026-01-01") || w.Opener != f.Saw || w.Reason.Bound != vent.BoundLook {
		t.Errorf("%v %+v", ok, w)
	}
	f.Supports = false
	if w, ok := Look(f, p, Clean(f, p, nil), nil); ok {
		t.Errorf("a cleaning on the same day is a look: %+v", w)
	}
}
