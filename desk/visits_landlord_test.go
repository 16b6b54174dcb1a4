package desk_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// TestLandlordThroughTheOffice lives a year with 84 flats in three buildings: each Monday visits are proposed, those of the next two weeks
// are booked, so that notice can be given, and the week's are made; the next dates are the model's own. What each unit on its own due
// day would have taken is counted beside it.
func TestLandlordThroughTheOffice(t *testing.T) {
	s := scene.Start(t, sunday)
	p := s.Desk.Policy()
	p.Visits.Plan.Effort, p.Visits.AheadDays = 300, 120
	s.Desk.SetPolicy(p)
	technician(s, "Ida", "mon-fri 07:00-18:00", nil)
	rng := rand.New(rand.NewPCG(84, 1))
	for b := range 3 {
		first := s.House(fmt.Sprintf("Court %d", b+1), newYork)
		place(s, first.Site, 40+0.03*float64(b), -75)
		scene.Change(s, store.Sites, first.Site, func(x *vent.Site) { x.NoticeDays, x.Whole = 2, true })
		scene.Change(s, store.Units, first.Unit, func(u *vent.Unit) { u.Kind, u.Name = vent.Flat, "1" })
		for i := range 28 {
			h := first
			if i > 0 {
				s.Update(func(tx *store.Tx) error {
					h.Unit, h.Dryer, h.Run = tx.NewID(), tx.NewID(), tx.NewID()
					return errors.Join(
						store.Units.Put(tx, vent.Unit{ID: h.Unit, SiteID: h.Site, Kind: vent.Flat, Name: fmt.Sprint(i + 1)}, ""),
						store.Appliances.Put(tx, vent.Appliance{ID: h.Dryer, UnitID: h.Unit, Kind: vent.Dryer, Fuel: vent.Electric}, ""),
						store.Runs.Put(tx, vent.Run{ID: h.Run, SiteID: h.Site, UnitID: h.Unit, Name: vent.UsualRunName, Shape: vent.Single, Known: day(1),
							Versions: []vent.Version{{DryerID: h.Dryer}}}, ""))
				})
			}
			cleaned := day(1).AddDays(-10 - rng.IntN(150))
			if _, err := s.Desk.Record(s.By(), vent.Finding{RunID: h.Run, Date: cleaned, Source: "import", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full}); err != nil {
				t.Fatal(err)
			}
		}
	}
	trips, late, done := 0, 0, 0
	own := map[string]bool{} // building and due day
	monday := day(2)
	for w := range 52 {
		s.Now = monday.AddDays(7*w).At(11*60, time.UTC) // 6 or 7 in the morning in New York
		proposal := propose(s)
		late += len(proposal.Late)
		for _, v := range listed(s, desk.VisitQuery{From: proposal.Today, To: proposal.Today.AddDays(14)}) {
			if v.Visit.State != vent.Proposed {
				continue
			}
			if _, err := s.Desk.BookVisit(s.By(), v.Visit.ID); err != nil {
				t.Fatal(err)
			}
		}
		for _, v := range listed(s, desk.VisitQuery{From: monday.AddDays(7 * w), To: monday.AddDays(7*w + 7)}) {
			if v.Visit.State != vent.Booked {
				continue
			}
			for _, part := range v.Parts {
				for _, due := range part.Dues {
					own[v.Visit.SiteID.String()+due.Due.Day.String()] = true
					if v.Visit.On > due.Due.Latest {
						late++
					}
				}
			}
			s.Now = v.Visit.On.At(23*60, time.UTC)
			c, err := s.Desk.CloseVisit(s.By(), v.Visit.ID, nil)
			if err != nil || len(c.Left) > 0 {
				t.Fatalf("closed: %d left, %v", len(c.Left), err)
			}
			trips++
			done += len(c.Findings)
		}
	}
	t.Logf("a year: %d cleanings on %d visits, %d late; each unit on its own day: %d visits", done, trips, late, len(own))
	if late > 0 {
		t.Errorf("%d late, want none", late)
	}
	if done < 84 {
		t.Errorf("%d cleanings in a year of 84 flats", done)
	}
	if 2*trips > len(own) {
		t.Errorf("%d visits, more than half of the %d that each unit's own day takes", trips, len(own))
	}
}
