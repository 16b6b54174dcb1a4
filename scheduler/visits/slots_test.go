package visits

import (
	"errors"
	"testing"

	"ventdue/vent"
)

// taken is a visit to the site on a day from monday.
func taken(day, start, minutes int) Visit {
	return Visit{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(day), Start: start, Minutes: minutes, Dues: []vent.ID{dueID(90)}}
}

func offered(t *testing.T, p Problem, want int) []Slot {
	t.Helper()
	slots, err := Slots(p, want)
	if err != nil {
		t.Fatal(err)
	}
	return slots
}

// Nearest the due day first, Thursday the 3rd day after Monday; from home at 8:00, 20 minutes of driving, the next quarter of an
// hour is 8:30; 15 + 45 minutes there.
func TestSlotsOfAnEmptyWeek(t *testing.T) {
	slots := offered(t, one(task(0, 0, 0, 3, 9)), 3)
	want := []Slot{
		{techID(0), siteID(0), monday.AddDays(3), 510, 60, true, 40},
		{techID(0), siteID(0), monday.AddDays(2), 780, 60, true, 40},
		{techID(0), siteID(0), monday.AddDays(4), 510, 60, true, 40},
	}
	if len(slots) != 3 || slots[0] != want[0] || slots[1] != want[1] || slots[2] != want[2] {
		t.Errorf("slots %+v, want %+v", slots, want)
	}
	// Eight working days in the window, each with a morning and an afternoon.
	if slots = offered(t, one(task(0, 0, 0, 3, 9)), 99); len(slots) != 16 {
		t.Errorf("%d slots, want 16", len(slots))
	}
}

func TestSlotsKnowTheBlocks(t *testing.T) {
	p := one(task(0, 0, 0, 3, 9))
	p.Frozen = []Visit{taken(8, 600, 60)}
	slots := offered(t, p, 2)
	if s := slots[0]; s.On != monday.AddDays(8) || s.Trip || s.Drive != 0 {
		t.Errorf("first slot %+v: on day 8 somebody is there anyway", s)
	}
	// A hold from 8:20 to 15:40 leaves the day no hour; one until 14:00 leaves the afternoon.
	p.Frozen = []Visit{taken(3, 500, 440)}
	for _, s := range offered(t, p, 99) {
		if s.On == monday.AddDays(3) {
			t.Errorf("slot %+v on a full day", s)
		}
	}
	p.Frozen = []Visit{taken(3, 500, 340)}
	if s := offered(t, p, 1)[0]; s.On != monday.AddDays(3) || s.Start != 840 {
		t.Errorf("slot %+v, want 14:00 right after the hold", s)
	}
	p.Technicians[0].MaxDues = 1
	if s := offered(t, p, 1)[0]; s.On == monday.AddDays(3) {
		t.Errorf("slot %+v on a day that has its one due", s)
	}
}

func TestSlotsForSeveralDoors(t *testing.T) {
	p := one(task(0, 0, 0, 2, 4), task(1, 0, 3, 7, 9))
	slots := offered(t, p, 99)
	for _, s := range slots {
		if d := monday.DaysUntil(s.On); d < 3 || d > 4 || s.Minutes != 105 {
			t.Errorf("slot %+v: both windows hold days 3 and 4 only, two runs take 15 + 2 x 45 minutes", s)
		}
	}
	if len(slots) != 4 {
		t.Errorf("%d slots, want a morning and an afternoon on two days", len(slots))
	}
	p.Dues[1] = task(1, 0, 6, 7, 9)
	if slots = offered(t, p, 5); len(slots) != 0 {
		t.Errorf("slots %+v for windows that share no day", slots)
	}
	p.Dues[1].Skills = []string{SkillPair}
	p.Dues[1].Earliest = monday
	if slots = offered(t, p, 5); len(slots) != 0 {
		t.Errorf("slots %+v for a skill that nobody has", slots)
	}
}

func TestSlotRefusals(t *testing.T) {
	p := one(task(0, 0, 0, 3, 9))
	s := offered(t, p, 1)[0]
	for what, change := range map[string]func(*Slot){
		"nobody":             func(s *Slot) { s.TechnicianID = techID(5) },
		"another site":       func(s *Slot) { s.SiteID = siteID(5) },
		"after the window":   func(s *Slot) { s.On = monday.AddDays(10) },
		"before today":       func(s *Slot) { s.On = monday.AddDays(-1) },
		"a Saturday":         func(s *Slot) { s.On = monday.AddDays(5) },
		"too early to drive": func(s *Slot) { s.Start = 499 },
		"too late to drive":  func(s *Slot) { s.Start = 960 - 20 - 59 },
		"too short":          func(s *Slot) { s.Minutes = 59 },
		"far too long":       func(s *Slot) { s.Minutes = 1 << 30 },
		"minus":              func(s *Slot) { s.Start, s.Minutes = -1<<31, 60 },
	} {
		bad := s
		change(&bad)
		if err := Check(p, bad); !errors.Is(err, vent.ErrConflict) {
			t.Errorf("%s: error %v, want a conflict", what, err)
		}
	}
	if err := Check(p, s); err != nil {
		t.Error(err)
	}
	p.Sites = append(p.Sites, Site{ID: siteID(1)})
	p.Dues = append(p.Dues, task(1, 1, 0, 1, 2))
	if _, err := Slots(p, 3); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("dues of two sites: error %v", err)
	}
	p.Dues = nil
	if _, err := Slots(p, 3); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("no dues: error %v", err)
	}
}
