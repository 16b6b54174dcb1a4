package desk_test

import (
	"testing"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// While a flat stands empty between two tenants the visit that is due within 90 days is made then; one that is due later, or
// whose flat is lived in, waits for its own days. By hand: 10 March to 20 May 2026 are 71 days, to 20 June 102.
func TestTurnoverPullsInWhatIsDueWithin90Days(t *testing.T) {
	for _, c := range []struct {
		name   string
		empty  bool
		due    vent.Date
		pulled bool
	}{
		{"empty, due within 90 days", true, vent.NewDate(2026, 5, 20), true},
		{"empty, due later", true, vent.NewDate(2026, 6, 20), false},
		{"lived in", false, vent.NewDate(2026, 5, 20), false},
	} {
		s := scene.Start(t, sunday)
		technician(s, "Ida", "mon-fri 08:00-17:00", nil)
		tenant, next := s.Person("Olle", "olle@example.com"), s.Person("Ana", "ana@example.com")
		h := s.House("Tern Court", newYork)
		place(s, h.Site, 40, -75)
		scene.Change(s, store.Units, h.Unit, func(u *vent.Unit) {
			u.Kind, u.Occupancies = vent.Flat, []vent.Occupancy{{PersonID: tenant, From: vent.NewDate(2024, 5, 1)}}
			if c.empty {
				u.Occupancies[0].To = day(10)
				u.Occupancies = append(u.Occupancies, vent.Occupancy{From: day(10), To: day(21)}, vent.Occupancy{PersonID: next, From: day(21)})
			}
		})
		dueWithin(s, h, c.due.AddDays(-30), c.due, c.due.AddDays(30))
		propose(s)
		pulled := false
		for _, v := range listed(s, desk.VisitQuery{SiteID: h.Site}) {
			on := v.Visit.On
			if on >= day(10) && on < day(21) {
				pulled = true
			} else if on < c.due.AddDays(-30) {
				t.Errorf("%s: proposed for %s, neither while it is empty nor in its window", c.name, on)
			}
		}
		if pulled != c.pulled {
			t.Errorf("%s: pulled in %v", c.name, pulled)
		}
	}
}
