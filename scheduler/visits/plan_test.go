package visits

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
)

// one is a problem of four weeks with one technician and one site 10 km from home.
func one(dues ...Due) Problem {
	return Problem{
		Today: monday, Last: monday.AddDays(27), Policy: DefaultPolicy(), Dues: dues,
		Sites: []Site{{ID: siteID(0), Place: east(10)}}, Technicians: []Technician{worker(0, SkillGas)},
	}
}

// days gives the days from monday on which a schedule's visits are.
func days(s Schedule) []int {
	out := []int{}
	for _, v := range s.Visits {
		out = append(out, monday.DaysUntil(v.On))
	}
	return out
}

func same(t *testing.T, what string, got, want []int) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Drive times by hand: one degree on the equator is 2π·6371.0088/360 = 111.195 km; 10 km x 1.3 / 40 km/h = 19.5 minutes.
func TestRoads(t *testing.T) {
	travel := DefaultPolicy().Travel
	r := newRoads(travel, []*Place{east(0), east(10), {Lat: 0, Lon: 11}, nil, {Lat: 0, Lon: -170}})
	for _, c := range []struct{ a, b, want int32 }{
		{0, 1, 20}, {1, 0, 20}, {0, 0, 0}, {0, 2, 217}, {0, 3, 20}, {3, 3, 0},
		{0, 4, 39031}, // half round the Earth: π·6371.0088 km x 1.95 min/km = 39030.0…, rounded up
	} {
		if got := r.minutes(c.a, c.b); got != c.want && !(c.want > 1000 && math.Abs(float64(got-c.want)) <= 1) {
			t.Errorf("from %d to %d: %d minutes, want %d", c.a, c.b, got, c.want)
		}
	}
	// Against the haversine formula for many distances, with and without the table.
	var places []*Place
	for i := range 800 {
		places = append(places, &Place{Lat: float64(i%90) - 45, Lon: float64(i*i%3600) / 10})
	}
	big := newRoads(travel, places)
	for i := range places {
		j := (i*37 + 11) % len(places)
		got, want := int(big.minutes(int32(i), int32(j))), refMinutes(travel, places[i], places[j])
		if got-want > 1 || want-got > 1 {
			t.Errorf("from %v to %v: %d minutes, by haversine %d", *places[i], *places[j], got, want)
		}
	}
}

// Stabbing by hand: windows 0-4, 2-9, 3-4 share day 3 or 4; 7-11 and 8-10 share 8 to 10; 18-22 stands alone: three trips.
func TestOneSiteIsStabbed(t *testing.T) {
	s := mustPlan(t, one(task(0, 0, 0, 2, 4), task(1, 0, 2, 5, 9), task(2, 0, 3, 3, 4), task(3, 0, 7, 9, 11), task(4, 0, 8, 9, 10), task(5, 0, 18, 20, 22)))
	if len(s.Visits) != 3 || len(s.Late) > 0 || tier(s, "trips").Bound != 3 {
		t.Fatalf("visits %v, late %v, tiers %v; by hand three trips", days(s), s.Late, s.Tiers)
	}
	if d := days(s); d[0] < 3 || d[0] > 4 || d[1] < 8 || d[1] > 10 || d[2] < 18 || d[2] > 22 {
		t.Errorf("days %v are not those that the windows share", d)
	}
	if v := s.Visits[2]; v.Start != 500 || v.Minutes != 60 || v.Drive != 20 {
		t.Errorf("visit %+v: from home at 8:00, 20 minutes of driving, 15 + 45 minutes there", v)
	}
}

func TestPressingGoesFirst(t *testing.T) {
	p := one(task(0, 0, 0, 14, 27))
	same(t, "an ordinary due stays on its day", days(mustPlan(t, p)), []int{14})
	p.Dues[0].Chance = 0.5
	same(t, "a likely one goes as soon as it can", days(mustPlan(t, p)), []int{0})
	p.Dues[0].Chance, p.Dues[0].Stop = 0, true
	same(t, "a stop goes as soon as it can", days(mustPlan(t, p)), []int{0})
	p.Sites[0].NoticeDays = 3
	same(t, "but not before notice", days(mustPlan(t, p)), []int{3})
	p.Dues[0].Waived = true
	same(t, "unless that is waived", days(mustPlan(t, p)), []int{0})
}

// TestCauses: one hurdle each, named as the cause.
func TestCauses(t *testing.T) {
	for _, c := range []struct {
		cause  Cause
		change func(*Problem)
	}{
		{CauseOver, func(p *Problem) { p.Dues[0] = task(0, 0, -9, -5, -1) }},
		{CauseNotice, func(p *Problem) { p.Sites[0].NoticeDays = 5 }},
		{CauseSkill, func(p *Problem) { p.Dues[0].Skills = []string{SkillPair} }},
		{CauseSkill, func(p *Problem) { p.Technicians = nil }},
		{CauseOff, func(p *Problem) { p.Dues[0] = task(0, 0, 5, 5, 6) }}, // a weekend
		{CauseOff, func(p *Problem) {
			p.Technicians[0].Off = []vent.Date{monday, monday.AddDays(1), monday.AddDays(2)}
		}},
		{CauseClosed, func(p *Problem) { p.Sites[0].Closed = []vent.Date{monday, monday.AddDays(1), monday.AddDays(2)} }},
		{CauseAccess, func(p *Problem) { p.Sites[0].Access = weekdays(420, 520) }},
		{CauseLong, func(p *Problem) { p.Dues[0].Minutes = 450 }},
		{CauseLong, func(p *Problem) { p.Sites[0].Place = east(200) }},
		{CauseBooked, func(p *Problem) {
			for i := range 3 {
				p.Frozen = append(p.Frozen, Visit{TechnicianID: techID(0), On: monday.AddDays(i), Start: 500, Minutes: 440})
			}
		}},
		{CauseBooked, func(p *Problem) {
			p.Technicians[0].MaxDues = 1
			for i := range 3 {
				p.Frozen = append(p.Frozen, taken(i, 600, 60))
			}
		}},
		{CauseFull, func(p *Problem) {
			for i := range 3 {
				d := task(1+i, 0, 0, 0, 2)
				d.Minutes, p.Technicians[0].MaxDues = 400, 1
				p.Dues = append(p.Dues, d)
			}
			p.Dues[0].Minutes = 420
		}},
		{CauseBooked, func(p *Problem) {
			p.Frozen = []Visit{{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(9), Start: 600, Minutes: 60, Dues: []vent.ID{dueID(0)}}}
		}},
	} {
		p := one(task(0, 0, 0, 1, 2))
		c.change(&p)
		s := mustPlan(t, p)
		if len(s.Late) != 1 || s.Late[0].Cause != c.cause || s.Late[0].Text == "" {
			t.Errorf("late %+v, want the cause %s", s.Late, c.cause)
		}
	}
}

// An overdue one is done within the days for catching up, at the end of no trip of its own where one goes there.
func TestOverdueIsCaughtUp(t *testing.T) {
	p := one(task(0, 0, -40, -20, -6), task(1, 0, 8, 9, 10))
	s := mustPlan(t, p)
	same(t, "one trip within two weeks does both", days(s), []int{8})
	if len(s.Late) != 1 || s.Late[0].On != monday.AddDays(8) || s.Late[0].Cause != CauseOver || tier(s, "late") != (Tier{"late", 1, 1}) {
		t.Errorf("late %+v, tiers %+v", s.Late, s.Tiers)
	}
	p.Dues[0].Stop = true
	same(t, "a stop does not wait for the trip", days(mustPlan(t, p)), []int{0, 9})
}

func TestWaitsBeyondTheLastDay(t *testing.T) {
	p := one(task(0, 0, 20, 25, 40))
	s := mustPlan(t, p)
	if len(s.Visits) != 0 || len(s.Late) != 0 || !slices.Equal(s.Left, []vent.ID{dueID(0)}) {
		t.Errorf("visits %v, late %v, left %v: it may wait", days(s), s.Late, s.Left)
	}
	p.Dues = append(p.Dues, task(1, 0, 20, 23, 27))
	s = mustPlan(t, p)
	if len(s.Visits) != 1 || len(s.Visits[0].Dues) != 2 || len(s.Left) != 0 {
		t.Errorf("visits %+v: it rides along on a trip that goes there anyway", s.Visits)
	}
	p = one(task(0, 0, 30, 35, 40))
	if s = mustPlan(t, p); !slices.Equal(s.Left, []vent.ID{dueID(0)}) {
		t.Errorf("left %v: what opens after the last day is left", s.Left)
	}
}

func TestJoinsAFrozenTrip(t *testing.T) {
	p := one(task(0, 0, 0, 2, 20))
	p.Frozen = []Visit{{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(10), Start: 600, Minutes: 60, Dues: []vent.ID{dueID(7)}}}
	s := mustPlan(t, p)
	same(t, "somebody goes there anyway", days(s), []int{10})
	if got := tier(s, "trips"); got.Value != 0 || tier(s, "drive").Value != 40 {
		t.Errorf("tiers %+v: no new trip, twice 20 minutes of driving", s.Tiers)
	}
}

// A block without a site takes its time and nobody anywhere.
func TestBlockWithoutSite(t *testing.T) {
	p := one()
	p.Frozen = []Visit{{TechnicianID: techID(0), On: monday, Start: 480, Minutes: 300}}
	s := mustPlan(t, p)
	if got := tier(s, "drive"); got != (Tier{"drive", 0, 0}) || len(s.Days) != 1 || s.Days[0].Visits != 0 || s.Days[0].Work != 300 {
		t.Errorf("drive %+v, days %+v", got, s.Days)
	}
	p.Dues = []Due{task(0, 0, 0, 0, 0)}
	if s = mustPlan(t, p); len(s.Visits) != 1 || s.Visits[0].Start != 800 {
		t.Errorf("visits %+v: from home at 13:00, there at 13:20", s.Visits)
	}
}

func TestTurnoverPullsIn(t *testing.T) {
	unit := vent.ID{1: 1}
	p := one(task(0, 0, 60, 70, 80))
	p.Last = monday.AddDays(120)
	p.Dues[0].UnitID = unit
	same(t, "by itself", days(mustPlan(t, p)), []int{70})
	p.Turnovers = []Turnover{{UnitID: unit, From: monday.AddDays(7), To: monday.AddDays(12)}}
	if d := days(mustPlan(t, p)); len(d) != 1 || d[0] < 7 || d[0] > 11 {
		t.Errorf("days %v, want one while the unit is empty", d)
	}
	p.Last = monday.AddDays(20)
	if d := days(mustPlan(t, p)); len(d) != 1 {
		t.Errorf("days %v, want one: it might wait beyond the last day, the empty unit does not", d)
	}
	p.Last = monday.AddDays(120)
	p.Dues[0].Floor = monday.AddDays(30)
	same(t, "not before its floor", days(mustPlan(t, p)), []int{70})
	p.Dues[0].Floor = 0
	p.Sites[0].Closed = []vent.Date{monday.AddDays(7), monday.AddDays(8), monday.AddDays(9), monday.AddDays(10), monday.AddDays(11)}
	same(t, "no room while it is empty: its own window", days(mustPlan(t, p)), []int{70})
	p.Sites[0].Closed = nil
	p.Policy.TurnoverDays = 60
	same(t, "63 days after the turnover is too far for 60", days(mustPlan(t, p)), []int{70})
}

func TestWishes(t *testing.T) {
	p := one(task(0, 0, 0, 9, 20))
	p.Technicians[0].Hours = everyDay(480, 960)
	p.Sites[0].Prefer = []time.Weekday{time.Saturday}
	same(t, "the Saturday next to its day", days(mustPlan(t, p)), []int{12}) // the 9th day after Monday is a Wednesday
	p.Technicians[0].Hours = weekdays(480, 960)
	s := mustPlan(t, p)
	same(t, "nobody works on Saturdays", days(s), []int{9})
	if tier(s, "wishes").Value != 1 {
		t.Errorf("tiers %v: one wish not met", s.Tiers)
	}
	// 30 doors at 45 minutes do not fit into one day of 8 hours (480 - 40 - 15 = 425: 9 doors): four trips, in one go.
	p = one()
	p.Last = monday.AddDays(90)
	for i := range 30 {
		p.Dues = append(p.Dues, task(i, 0, i%3, 10+i*2, 75))
	}
	p.Sites[0].Whole = true
	s = mustPlan(t, p)
	d := days(s)
	if len(d) != 4 || d[3]-d[0] > 6 || tier(s, "wishes").Value != 0 || tier(s, "trips").Bound != 4 {
		t.Errorf("days %v, tiers %v: four trips on days that follow each other", d, s.Tiers)
	}
	mustBeSound(t, p, s)
}

// New York is 5 hours behind UTC in winter, Chicago 6: 9:00 in Chicago is 10:00 in New York.
func TestZones(t *testing.T) {
	zone := func(name string) *time.Location {
		l, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	p := one(task(0, 0, 1, 1, 1))
	p.Technicians[0].Zone, p.Sites[0].Zone = zone("America/New_York"), zone("America/Chicago")
	s := mustPlan(t, p)
	if v := s.Visits[0]; v.Start != 500-60 {
		t.Errorf("start %d: from home at 8:00, there 20 minutes later, 7:20 by the site's clock", v.Start)
	}
	p.Sites[0].Access = weekdays(540, 720)
	s = mustPlan(t, p)
	if v := s.Visits[0]; v.Start != 540 {
		t.Errorf("start %d: the site opens at 9:00 by its own clock", v.Start)
	}
	p.Sites[0].Access = weekdays(540, 600)
	if v := mustPlan(t, p).Visits[0]; v.On != monday.AddDays(1) || v.Start != 540 {
		t.Errorf("visit %+v: the hour from 9:00 to 10:00 by the site's clock is just enough", v)
	}
	p.Sites[0].Access = weekdays(540, 720)
	p.Frozen = []Visit{{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(1), Start: 540, Minutes: 60}}
	if v := mustPlan(t, p).Visits[0]; v.Start != 600 {
		t.Errorf("start %d: a frozen visit holds 9:00 to 10:00 by the site's clock", v.Start)
	}
}

func TestMoves(t *testing.T) {
	p := one(task(0, 0, 0, 3, 9), task(1, 0, 14, 15, 18), task(2, 0, 0, 1, 2))
	stood := func(n, day int) Visit {
		return Visit{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(day), Start: 500, Minutes: 60, Dues: []vent.ID{dueID(n)}}
	}
	p.Previous = []Visit{stood(0, 7), stood(1, 15), stood(9, 16)}
	s := mustPlan(t, p)
	cause := map[vent.ID]Cause{}
	for _, m := range s.Moves {
		cause[m.DueID] = m.Cause
	}
	want := map[vent.ID]Cause{dueID(0): CauseBetter, dueID(2): CauseNew, dueID(9): CauseGone}
	for id, c := range want {
		if cause[id] != c {
			t.Errorf("due %s moved for %q, want %q", id, cause[id], c)
		}
	}
	if len(s.Moves) != len(want) {
		t.Errorf("moves %+v", s.Moves)
	}
	p.Sites[0].Closed = []vent.Date{monday.AddDays(15)}
	p.Frozen = []Visit{stood(2, 2)}
	s = mustPlan(t, p)
	for _, m := range s.Moves {
		if m.DueID == dueID(1) && m.Cause != CauseClosed {
			t.Errorf("moved for %q, want %q", m.Cause, CauseClosed)
		}
	}
}

// A proposal that can no longer be as it was moves; what is nonsense in it does no harm.
func TestPreviousThatCannotStay(t *testing.T) {
	past := one(task(0, 0, 3, 5, 9))
	past.Policy.Effort = 0 // no search that would hide where the plan started
	past.Previous = []Visit{{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(10), Start: 500, Minutes: 60, Dues: []vent.ID{dueID(0)}}}
	if s := mustPlan(t, past); len(s.Moves) != 1 || s.Moves[0].Cause != CauseWindow || s.Visits[0].On > monday.AddDays(9) {
		t.Errorf("visits %v, moves %+v: day 10 is after its window", days(s), s.Moves)
	}
	p := one(task(0, 0, 3, 5, 9), task(1, 1, 3, 5, 9))
	p.Sites = append(p.Sites, Site{ID: siteID(1), Place: east(-10)})
	p.Policy.Effort = 0
	both := []vent.ID{dueID(0), dueID(1), dueID(0), dueID(77)}
	p.Previous = []Visit{
		{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(4), Start: -5000, Minutes: -7, Dues: both},
		{TechnicianID: techID(8), SiteID: siteID(8), On: monday.AddDays(-400), Start: 1 << 40, Dues: both},
	}
	s := mustPlan(t, p)
	mustBeSound(t, p, s)
	if len(s.Late) > 0 || len(s.Moves) == 0 {
		t.Errorf("late %v, moves %v", s.Late, s.Moves)
	}
}

func TestBadProblems(t *testing.T) {
	nan := math.NaN()
	for what, change := range map[string]func(*Problem){
		"today":         func(p *Problem) { p.Today = 0 },
		"last":          func(p *Problem) { p.Last = p.Today.AddDays(-1) },
		"last far":      func(p *Problem) { p.Last = p.Today.AddDays(5000) },
		"km_per_hour":   func(p *Problem) { p.Policy.Travel.KmPerHour = nan },
		"grid":          func(p *Problem) { p.Policy.Grid = 0 },
		"site":          func(p *Problem) { p.Dues[0].SiteID = siteID(8) },
		"id":            func(p *Problem) { p.Dues = append(p.Dues, p.Dues[0]) },
		"day":           func(p *Problem) { p.Dues[0].Day = 0 },
		"window":        func(p *Problem) { p.Dues[0].Latest = p.Dues[0].Day - 1 },
		"minutes":       func(p *Problem) { p.Dues[0].Minutes = -1 },
		"chance":        func(p *Problem) { p.Dues[0].Chance = nan },
		"lat":           func(p *Problem) { p.Sites[0].Place = &Place{Lat: nan} },
		"hours[1]":      func(p *Problem) { p.Technicians[0].Hours[1] = Span{From: 900, To: 100} },
		"run_minutes":   func(p *Problem) { p.Technicians[0].RunMinutes = 0 },
		"technician":    func(p *Problem) { p.Frozen = []Visit{{On: monday, Minutes: 5}} },
		"frozen[0].min": func(p *Problem) { p.Frozen = []Visit{{TechnicianID: techID(0), On: monday}} },
	} {
		p := one(task(0, 0, 0, 1, 2))
		change(&p)
		_, err := Plan(p)
		if word, _, _ := strings.Cut(what, " "); !errors.Is(err, vent.ErrInvalid) || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: error %v", what, err)
		}
	}
	p := one(task(0, 0, 0, 1, 2))
	for i := range 70 {
		p.Dues[0].Skills = append(p.Dues[0].Skills, strings.Repeat("x", i+1))
	}
	if _, err := Plan(p); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("70 skills: error %v", err)
	}
	if s := mustPlan(t, Problem{Today: monday, Last: monday, Policy: DefaultPolicy()}); len(s.Visits) != 0 {
		t.Errorf("nothing gives %v", s.Visits)
	}
}
