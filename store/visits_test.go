package store

import (
	"errors"
	"testing"
	"time"

	"ventdue/vent"
)

// trip is a visit to Maple House by Ida Lund on 1 December at nine, for 3B's door. house's own visits give way to it.
func trip(t *testing.T, s *Store, state vent.VisitState) (v vent.Visit, a vent.Appointment) {
	t.Helper()
	due, _ := house(t, s)
	update(t, s, 0, func(tx *Tx) error {
		for _, err := range []error{Appointments.Delete(tx, id(8), ""), Visits.Delete(tx, id(6), ""), Visits.Delete(tx, id(7), "")} {
			if err != nil {
				return err
			}
		}
		v = vent.Visit{ID: id(20), SiteID: id(3), TechnicianID: id(1), On: vent.NewDate(2026, 12, 1), Start: 540, Minutes: 60, Zone: "UTC", State: state}
		if state == vent.Held {
			v.Until = tx.Now().Add(time.Hour)
		}
		a = vent.Appointment{ID: id(21), VisitID: v.ID, CustomerID: id(2), UnitID: id(4), Dues: []vent.ID{due}, Start: 555, Minutes: 45, State: state}
		return bring(tx, &v, &a)
	})
	return v, a
}

func bring(tx *Tx, v *vent.Visit, a *vent.Appointment) (err error) {
	if *v, err = SetVisit(tx, *v, ""); err == nil {
		*a, err = SetAppointment(tx, *a, "")
	}
	return err
}

// RFC 5546 section 2.1.4: SEQUENCE rises when the time or the status that others were shown changes. A proposal was shown to nobody.
func TestSequenceRisesWithWhatIsShown(t *testing.T) {
	day := func(v *vent.Visit, a *vent.Appointment) { v.On = v.On.AddDays(1) }
	cases := []struct {
		name   string
		from   vent.VisitState
		change func(v *vent.Visit, a *vent.Appointment)
		visit  int
		part   int
	}{
		{"a proposal moves", vent.Proposed, day, 0, 0},
		{"a proposal is booked", vent.Proposed, func(v *vent.Visit, a *vent.Appointment) { v.State, a.State = vent.Booked, vent.Booked }, 0, 0},
		{"a booked one moves", vent.Booked, day, 1, 1},
		{"both hours move at once", vent.Booked, func(v *vent.Visit, a *vent.Appointment) {
			v.On = v.On.AddDays(1)
			v.Start, a.Start = 600, 615
		}, 1, 1},
		{"one door moves", vent.Booked, func(v *vent.Visit, a *vent.Appointment) { a.Start = 560 }, 0, 1},
		{"one door is called off", vent.Booked, func(v *vent.Visit, a *vent.Appointment) { a.State = vent.Cancelled }, 0, 1},
		{"it is called off", vent.Booked, func(v *vent.Visit, a *vent.Appointment) { v.State = vent.Cancelled }, 1, 1},
		{"an offer is taken", vent.Held, func(v *vent.Visit, a *vent.Appointment) { v.State, v.Until, a.State = vent.Booked, 0, vent.Booked }, 1, 1},
		{"it is done", vent.Booked, func(v *vent.Visit, a *vent.Appointment) { v.State, a.State = vent.VisitDone, vent.VisitDone }, 0, 0},
		{"an inner note", vent.Booked, func(v *vent.Visit, a *vent.Appointment) { v.Note, v.Drive, v.Frozen = "ring twice", 12, true }, 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := opened(t)
			v, a := trip(t, s, c.from)
			was := modified(t, s)
			c.change(&v, &a)
			update(t, s, time.Minute, func(tx *Tx) error { return bring(tx, &v, &a) })
			is := modified(t, s)
			if v, a := is.v, is.a; v.Sequence != c.visit || a.Sequence != c.part {
				t.Errorf("SEQUENCE %d of the visit and %d of the door, want %d and %d", v.Sequence, a.Sequence, c.visit, c.part)
			}
			if raised := is.a.Modified > was.a.Modified; raised != (c.part > 0 || c.name == "a proposal is booked") {
				t.Errorf("LAST-MODIFIED of the door rose: %v", raised)
			}
			shown := c.visit+c.part > 0 || c.name == "a proposal is booked"
			if bumped := is.customer > was.customer; bumped != shown {
				t.Errorf("the customer's calendar changed: %v, want %v", bumped, shown)
			}
		})
	}
}

type state struct {
	v        vent.Visit
	a        vent.Appointment
	customer uint64
}

func modified(t *testing.T, s *Store) (x state) {
	t.Helper()
	view(t, s, func(tx *Tx) (err error) {
		if x.v, err = Visits.Get(tx, id(20)); err != nil {
			return err
		}
		x.customer = tx.Revision(vent.Scope{Kind: vent.KindCustomer, ID: id(2)}).N
		x.a, err = Appointments.Get(tx, id(21))
		return err
	})
	return x
}

// A door that goes to another trip keeps its UID, and its SEQUENCE goes on from where it was.
func TestADoorGoesToAnotherTrip(t *testing.T) {
	s := opened(t)
	v, a := trip(t, s, vent.Booked)
	for i := range 3 {
		v.On = v.On.AddDays(1)
		update(t, s, time.Duration(i+1)*time.Minute, func(tx *Tx) (err error) { v, err = SetVisit(tx, v, ""); return err })
	}
	update(t, s, time.Hour, func(tx *Tx) error {
		other, err := SetVisit(tx, vent.Visit{SiteID: id(3), TechnicianID: id(1), On: v.On.AddDays(7), Start: 540, Minutes: 60, Zone: "UTC", State: vent.Booked}, "")
		if err != nil {
			return err
		}
		a.VisitID = other.ID
		a, err = SetAppointment(tx, a, "")
		return err
	})
	if is := modified(t, s).a; is.Sequence != 4 || is.UID != a.UID {
		t.Errorf("SEQUENCE %d, UID kept: %v; want 4: three moves and one change of trips", is.Sequence, is.UID == a.UID)
	}
}

// What was published does not become a proposal again, and a proposal that is dropped leaves nothing.
func TestProposals(t *testing.T) {
	s := opened(t)
	v, _ := trip(t, s, vent.Booked)
	v.State = vent.Proposed
	err := s.Update(stamp(time.Minute), func(tx *Tx) error { _, err := SetVisit(tx, v, ""); return err })
	if !errors.Is(err, vent.ErrConflict) {
		t.Errorf("a booked visit became a proposal: %v", err)
	}
	if err := s.Update(stamp(time.Minute), func(tx *Tx) error { return DropProposal(tx, v.ID) }); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("a booked visit was dropped: %v", err)
	}
	s = opened(t)
	v, _ = trip(t, s, vent.Proposed)
	update(t, s, time.Minute, func(tx *Tx) error { return DropProposal(tx, v.ID) })
	view(t, s, func(tx *Tx) error {
		if Visits.Has(tx, v.ID) || Appointments.Has(tx, id(21)) {
			t.Error("something is left of the dropped proposal")
		}
		return nil
	})
}

// One technician is at one place at a time; proposals and holds that ran out take no time.
func TestNoDoubleBooking(t *testing.T) {
	s := opened(t)
	v, _ := trip(t, s, vent.Held) // 9 to 10 UTC, until half past nine of 25 November
	try := func(after time.Duration, edit func(*vent.Visit)) error {
		return s.Update(stamp(after), func(tx *Tx) error {
			x := vent.Visit{SiteID: id(3), TechnicianID: id(1), On: v.On, Start: 570, Minutes: 60, Zone: "UTC", State: vent.Booked}
			edit(&x)
			_, err := SetVisit(tx, x, "")
			return err
		})
	}
	nothing := func(*vent.Visit) {}
	if err := try(time.Minute, nothing); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("booked over a hold: %v", err)
	}
	// 10:30 in Berlin is 9:30 UTC in December (IANA: CET is UTC+1).
	if err := try(time.Minute, func(x *vent.Visit) { x.Start, x.Zone = 630, "Europe/Berlin" }); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("booked over a hold by another zone's clock: %v", err)
	}
	if err := try(time.Minute, func(x *vent.Visit) { x.State = vent.Proposed }); err != nil {
		t.Errorf("a proposal was refused: %v", err)
	}
	if err := try(time.Minute, func(x *vent.Visit) { x.Start = 600 }); err != nil {
		t.Errorf("a visit right after the hold was refused: %v", err)
	}
	if err := try(2*time.Hour, func(x *vent.Visit) { x.Start, x.Minutes = 540, 60 }); err != nil {
		t.Errorf("a hold that ran out still blocks: %v", err)
	}
	err := s.Update(stamp(3*time.Hour), func(tx *Tx) error {
		_, err := SetVisit(tx, vent.Visit{ID: v.ID, SiteID: id(3), TechnicianID: id(1), On: v.On, Start: 540, Minutes: 60, Zone: "UTC", State: vent.Booked}, "")
		return err
	})
	if !errors.Is(err, vent.ErrConflict) {
		t.Errorf("the hold that ran out was booked though its time was given away: %v", err)
	}
	view(t, s, func(tx *Tx) error {
		blocks, err := Workday(tx, id(1), v.On)
		kinds := map[BlockKind]int{}
		for _, b := range blocks {
			kinds[b.Kind]++
		}
		if err != nil || kinds[BlockWork] != 2 || kinds[BlockHold] != 1 {
			t.Errorf("blocks %v, %v; want two visits and the hold that ran out", blocks, err)
		}
		return nil
	})
}

// A due's reminders rest while it is booked or held for somebody, and no longer.
func TestBookedFor(t *testing.T) {
	s := opened(t)
	v, a := trip(t, s, vent.Held)
	booked := func(after time.Duration) (is bool) {
		t.Helper()
		update(t, s, after, func(tx *Tx) error {
			x, ok, err := BookedFor(tx, a.Dues[0])
			is = ok && x.ID == a.ID
			return err
		})
		return is
	}
	if !booked(time.Minute) {
		t.Error("held: not found")
	}
	if booked(2 * time.Hour) {
		t.Error("the hold ran out and still counts")
	}
	v.State, v.Until, a.State = vent.Booked, 0, vent.Booked
	update(t, s, 3*time.Hour, func(tx *Tx) error { return bring(tx, &v, &a) })
	if !booked(4 * time.Hour) {
		t.Error("booked: not found")
	}
	v.State, a.State = vent.NobodyHome, vent.NobodyHome
	update(t, s, 5*time.Hour, func(tx *Tx) error { return bring(tx, &v, &a) })
	if booked(6 * time.Hour) {
		t.Error("nobody was home, and the due is still booked")
	}
}
