package cadence_test

import (
	"slices"
	"testing"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/vent"
	"ventdue/vent/rules"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func day(t *testing.T, s string) vent.Date {
	t.Helper()
	d, err := vent.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Each line tells one morning in the life of a due on 30 June: which step is wanted, and when to look again.
func TestLadder(t *testing.T) {
	z := zone(t, "America/New_York")
	due := vent.Due{Wanted: vent.Wanted{Day: day(t, "2027-06-30")}, State: vent.DueOpen}
	for _, c := range []struct {
		today, told, want, next string
	}{
		{"2027-05-01", "", "", "2027-05-31T12:00:00Z"},
		{"2027-05-31", "", "30_days", "2027-06-23T12:00:00Z"},
		{"2027-06-05", "30_days", "", "2027-06-23T12:00:00Z"},
		{"2027-06-23", "30_days", "7_days", "2027-06-30T12:00:00Z"},
		{"2027-06-30", "7_days", "on_the_day", "2027-07-14T12:00:00Z"},
		{"2027-07-20", "on_the_day", "14_days_late", ""},
		{"2027-07-21", "14_days_late", "", ""},
		// Off for forty days: the rungs that passed are not told any more.
		{"2027-07-09", "", "on_the_day", "2027-07-14T12:00:00Z"},
		{"2028-07-09", "", "14_days_late", ""},
	} {
		told := func(_ vent.Due, s vent.Step) bool { return string(s) == c.told }
		now := vent.InstantOf(day(t, c.today).At(9*60, z))
		p := cadence.Tell([]vent.Due{due}, told, cadence.Default(), z, now)
		got := ""
		for _, w := range p.Wanted {
			got += string(w.Step)
		}
		if got != c.want || p.Next.String() != c.next {
			t.Errorf("%s: wanted %q next %q, want %q next %q", c.today, got, p.Next, c.want, c.next)
		}
	}
}

func TestClosedDuesAreNotTold(t *testing.T) {
	due := vent.Due{Wanted: vent.Wanted{Day: day(t, "2027-06-30")}, State: vent.DueDone}
	never := func(vent.Due, vent.Step) bool { return false }
	p := cadence.Tell([]vent.Due{due}, never, cadence.Default(), time.UTC, vent.InstantOf(day(t, "2027-06-30").At(600, time.UTC)))
	if len(p.Wanted) != 0 || p.Next != 0 {
		t.Errorf("a done due gives %+v", p)
	}
}

func TestSlotKeepsToTheWindowAndOneADay(t *testing.T) {
	z := zone(t, "Australia/Lord_Howe")
	p := cadence.Default()
	free := func(vent.Date) bool { return false }
	busy := func(d vent.Date) bool { return d == day(t, "2027-04-04") }
	for _, c := range []struct {
		name  string
		at    int // minutes on 4 April 2027, when the clocks there go back by half an hour
		taken func(vent.Date) bool
		on    string
		from  int
	}{
		{"before it opens", 60, free, "2027-04-04", 8 * 60},
		{"while open", 11 * 60, free, "2027-04-04", 11 * 60},
		{"after it shut", 18 * 60, free, "2027-04-05", 8 * 60},
		{"had one today", 11 * 60, busy, "2027-04-05", 8 * 60},
	} {
		on, at := p.Slot(vent.InstantOf(day(t, "2027-04-04").At(c.at, z)), z, c.taken, 0)
		if on.String() != c.on || at != vent.InstantOf(on.At(c.from, z)) {
			t.Errorf("%s: %s at %s", c.name, on, at.Time().In(z))
		}
	}
}

// The last place in the spread is before ten o'clock, and stays inside a window of an hour.
func TestSpreadStaysInTheWindow(t *testing.T) {
	z := zone(t, "America/Santiago")
	midnight := vent.InstantOf(day(t, "2027-04-04").At(0, z)) // the clocks there go back at midnight
	free := func(vent.Date) bool { return false }
	for shuts, before := range map[int]string{18 * 60: "10:00", 9 * 60: "09:00"} {
		p := cadence.Default()
		p.Shuts = shuts
		_, at := p.Slot(midnight, z, free, 0.9999)
		if got := at.Time().In(z).Format("15:04"); got >= before || got < "08:50" {
			t.Errorf("window to minute %d: the last leaves at %s", shuts, got)
		}
		if _, again := p.Slot(at, z, free, 0.9999); again != at {
			t.Errorf("asked again at its own moment, it moves from %s to %s", at, again)
		}
	}
}

func TestStepOn(t *testing.T) {
	p, due := cadence.Default(), day(t, "2027-06-30")
	for today, want := range map[string]vent.Step{"2027-05-30": "", "2027-05-31": "30_days", "2027-06-22": "30_days", "2027-06-23": "7_days",
		"2027-06-30": "on_the_day", "2027-07-13": "on_the_day", "2027-07-14": "14_days_late", "2030-01-01": "14_days_late"} {
		if got := p.StepOn(vent.Due{Wanted: vent.Wanted{Day: due}}, day(t, today)); got != want {
			t.Errorf("on %s: %q, want %q", today, got, want)
		}
	}
}

func TestBrokenPoliciesAreRefused(t *testing.T) {
	if err := cadence.Default().Validate(); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func(*cadence.Policy){
		"shuts before it opens": func(p *cadence.Policy) { p.Opens, p.Shuts = 600, 600 },
		"opens yesterday":       func(p *cadence.Policy) { p.Opens = -1 },
		"shuts tomorrow":        func(p *cadence.Policy) { p.Shuts = 24*60 + 1 },
		"steps out of order":    func(p *cadence.Policy) { p.Ladder[0].Days = -7 },
		"step without a name":   func(p *cadence.Policy) { p.Ladder[1].Step = "" },
		"two steps of one name": func(p *cadence.Policy) { p.Ladder[1].Step = "30_days" },
	} {
		p := cadence.Default()
		if spoil(&p); p.Validate() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// A check that anybody does in a minute is told on its day; one for which somebody comes, or which is bought, has the whole
// ladder.
func TestChecksAreToldSparingly(t *testing.T) {
	p := cadence.Default()
	on := day(t, "2026-06-15")
	for _, c := range []struct {
		rule   string
		months int
		want   []int // days from the day on which a step is told
	}{
		{rules.CheckCOTest, 1, []int{0}},
		{rules.CheckTrap, 2, []int{0}},
		{rules.CheckFlap, 3, []int{0, 14}},
		{rules.CheckScreen, 6, []int{0, 14}},
		{rules.CheckGas, 12, []int{-30, -7, 0, 14}},
		{rules.CheckCabinet, 24, []int{-30, -7, 0, 14}},
		{rules.CheckAlarmReplace, 120, []int{-30, -7, 0, 14}},
	} {
		d := vent.Due{Wanted: vent.Wanted{Kind: vent.DueCheck, Day: on, Reason: vent.Reason{Rule: c.rule, Months: c.months}}}
		var got []int
		for n := -60; n < 60; n++ {
			if s := p.StepOn(d, on.AddDays(n)); s != "" && s != p.StepOn(d, on.AddDays(n-1)) {
				got = append(got, n)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s every %d months: told on days %v, want %v", c.rule, c.months, got, c.want)
		}
	}
}
