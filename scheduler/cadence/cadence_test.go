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
		p := cadence.Tell([]cadence.Matter{{Due: due, Ladder: cadence.Default().Due}}, told, cadence.Default(), z, now)
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
	m := cadence.Matter{Due: due, Ladder: cadence.Default().Due}
	p := cadence.Tell([]cadence.Matter{m}, never, cadence.Default(), time.UTC, vent.InstantOf(day(t, "2027-06-30").At(600, time.UTC)))
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

// step gives the step at which a due of a day is told on another.
func step(l cadence.Ladder, due, today vent.Date) vent.Step {
	return cadence.Matter{Due: vent.Due{State: vent.DueOpen, Wanted: vent.Wanted{Day: due}}, Ladder: l}.On(today).Step
}

func TestStepOn(t *testing.T) {
	due := day(t, "2027-06-30")
	for today, want := range map[string]vent.Step{"2027-05-30": "", "2027-05-31": "30_days", "2027-06-22": "30_days", "2027-06-23": "7_days",
		"2027-06-30": "on_the_day", "2027-07-13": "on_the_day", "2027-07-14": "14_days_late", "2030-01-01": "14_days_late"} {
		if got := step(cadence.Default().Due, due, day(t, today)); got != want {
			t.Errorf("on %s: %q, want %q", today, got, want)
		}
	}
}

// A household is asked again every month until it is done: 14 + 30 n days after 30 June.
func TestAHouseholdIsAskedEveryMonth(t *testing.T) {
	due := vent.Due{State: vent.DueOpen, Wanted: vent.Wanted{Kind: vent.DueClean, Day: day(t, "2027-06-30")}}
	l := cadence.Default().For(vent.Household, vent.Customer{}, vent.Person{}, due)
	for today, want := range map[string]struct {
		step vent.Step
		next string
	}{
		"2027-06-30": {"on_the_day", "2027-07-14"}, "2027-07-14": {"14_days_late", "2027-08-13"}, "2027-08-12": {"14_days_late", "2027-08-13"},
		"2027-08-13": {"44_days_late", "2027-09-12"}, "2027-09-12": {"74_days_late", "2027-10-12"},
	} {
		s := cadence.Matter{Due: due, Ladder: l}.On(day(t, today))
		if s.Step != want.step || s.Next.String() != want.next || s.Spent {
			t.Errorf("on %s: %+v (next %s), want %+v", today, s, s.Next, want)
		}
	}
}

// Where somebody has to come the first steps leave time to find a day: 45 and 21 days. What anybody can do themselves has
// the other ladder, and a customer's own days take the place of both.
func TestLadderOfACustomer(t *testing.T) {
	due := func(kind vent.DueKind, rule string) vent.Due {
		return vent.Due{State: vent.DueOpen, Wanted: vent.Wanted{Kind: kind, Day: day(t, "2027-06-30"), Reason: vent.Reason{Rule: rule}}}
	}
	own := vent.Customer{Reminders: []int{-60, 3}}
	for _, c := range []struct {
		name     string
		kind     vent.OperatorKind
		customer vent.Customer
		due      vent.Due
		want     []int
	}{
		{"a business cleans", vent.Customers, vent.Customer{}, due(vent.DueClean, ""), []int{-45, -21, -7, 0, 14}},
		{"a business looks", vent.Customers, vent.Customer{}, due(vent.DueLook, ""), []int{-45, -21, -7, 0, 14}},
		{"a check that anybody does", vent.Customers, vent.Customer{}, due(vent.DueCheck, rules.CheckScreen), []int{0}},
		{"a check for the licensed", vent.Customers, vent.Customer{}, due(vent.DueCheck, rules.CheckGas), []int{-45, -21, -7, 0, 14}},
		{"a fault that anybody mends", vent.Customers, vent.Customer{}, due(vent.DueFault, rules.FoilTransition), []int{-30, -7, 0, 14}},
		{"a fault for the trained", vent.Customers, vent.Customer{}, due(vent.DueFault, rules.DuctNarrow), []int{-45, -21, -7, 0, 14}},
		{"a landlord", vent.Buildings, vent.Customer{}, due(vent.DueClean, ""), []int{-30, -7, 0, 14}},
		{"their own days", vent.Customers, own, due(vent.DueClean, ""), []int{-60, 3}},
	} {
		if got := cadence.Default().For(c.kind, c.customer, vent.Person{}, c.due).Days; !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := cadence.Default().Ahead(own, vent.Person{}); got != 60 {
		t.Errorf("first told %d days ahead, want 60", got)
	}
}

// Who asked to be told earlier or later is; the steps after that stay.
func TestFirstDaysOfAPerson(t *testing.T) {
	due := vent.Due{Wanted: vent.Wanted{Kind: vent.DueClean}}
	for first, want := range map[int][]int{0: {-45, -21, -7, 0, 14}, 60: {-60, -45, -21, -7, 0, 14}, 14: {-14, -7, 0, 14}, 7: {-7, 0, 14}} {
		who := vent.Person{FirstDays: first}
		if got := cadence.Default().For(vent.Customers, vent.Customer{}, who, due).Days; !slices.Equal(got, want) {
			t.Errorf("first %d days ahead: %v, want %v", first, got, want)
		}
	}
	if got := cadence.Default().Ahead(vent.Customer{}, vent.Person{FirstDays: 60}); got != 60 {
		t.Errorf("%d days ahead, want 60", got)
	}
}

// A booked visit is waited for, and three days more; then the due is told again. After the last step it is the operator's.
func TestBookedAndSpent(t *testing.T) {
	m := cadence.Matter{Due: vent.Due{State: vent.DueOpen, Wanted: vent.Wanted{Kind: vent.DueClean, Day: day(t, "2027-06-30")}},
		Ladder: cadence.Default().ByVisit, Booked: day(t, "2027-06-28")}
	for today, want := range map[string]struct {
		step  vent.Step
		spent bool
		next  string
	}{
		"2027-06-20": {"", false, "2027-07-02"}, "2027-07-01": {"", false, "2027-07-02"},
		"2027-07-02": {"on_the_day", false, "2027-07-14"}, "2027-07-14": {"14_days_late", true, ""}, "2028-07-14": {"14_days_late", true, ""},
	} {
		s := m.On(day(t, today))
		if s.Step != want.step || s.Spent != want.spent || s.Next.String() != want.next || (s.Step == "") != (s.Why != "") {
			t.Errorf("on %s: %+v, next %q", today, s, s.Next)
		}
	}
}

// Quiet hours and days lie inside the window: 4 April 2027 is a Sunday.
func TestQuietHoursAndDays(t *testing.T) {
	z := zone(t, "America/New_York")
	p := cadence.Default()
	p.Quiet, p.QuietDays = cadence.Span{From: 12 * 60, To: 14 * 60}, []time.Weekday{time.Sunday}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		now, on    string
		from, want int
	}{
		{"2027-04-03", "2027-04-03", 11 * 60, 11 * 60}, {"2027-04-03", "2027-04-03", 12 * 60, 14 * 60}, {"2027-04-03", "2027-04-03", 13*60 + 59, 14 * 60},
		{"2027-04-03", "2027-04-03", 14 * 60, 14 * 60}, {"2027-04-03", "2027-04-05", 19 * 60, 8 * 60}, {"2027-04-04", "2027-04-05", 9 * 60, 8 * 60},
	} {
		on, at := p.Slot(vent.InstantOf(day(t, c.now).At(c.from, z)), z, p.QuietOn, 0)
		if on.String() != c.on || at != vent.InstantOf(on.At(c.want, z)) {
			t.Errorf("%s minute %d: %s at %s", c.now, c.from, on, at.Time().In(z))
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
		"steps out of order":    func(p *cadence.Policy) { p.Due.Days = []int{-7, -30} },
		"two steps of one day":  func(p *cadence.Policy) { p.ByVisit.Days = []int{-7, -7} },
		"a step in ten years":   func(p *cadence.Policy) { p.Due.Days = []int{3650} },
		"nine steps":            func(p *cadence.Policy) { p.Due.Days = []int{1, 2, 3, 4, 5, 6, 7, 8, 9} },
		"after the visit":       func(p *cadence.Policy) { p.Visit.Days = []int{1} },
		"quiet at night":        func(p *cadence.Policy) { p.Quiet = cadence.Span{From: 0, To: 60} },
		"quiet all day":         func(p *cadence.Policy) { p.Quiet = cadence.Span{From: p.Opens, To: p.Shuts} },
		"quiet all week":        func(p *cadence.Policy) { p.QuietDays = []time.Weekday{0, 1, 2, 3, 4, 5, 6} },
		"less than no mail":     func(p *cadence.Policy) { p.PerPerson = -1 },
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
			l := p.For(vent.Buildings, vent.Customer{}, vent.Person{}, d)
			if s := step(l, on, on.AddDays(n)); s != "" && s != step(l, on, on.AddDays(n-1)) {
				got = append(got, n)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s every %d months: told on days %v, want %v", c.rule, c.months, got, c.want)
		}
	}
}
