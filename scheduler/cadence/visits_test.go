package cadence_test

import (
	"testing"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/vent"
)

// told is a notice of a visit that was sent on a day at nine.
func told(t *testing.T, kind vent.NoticeKind, step vent.Step, on, of string, start int) vent.Notice {
	at := vent.InstantOf(day(t, on).At(9*60, zone(t, "America/New_York")))
	return vent.Notice{Kind: kind, Key: vent.NoticeKey{Step: step}, State: vent.NoticeSent, Created: at, Settled: at, Day: day(t, of), Start: start}
}

// Each line tells one morning in the life of a visit on 30 June 2027 at ten.
func TestVisits(t *testing.T) {
	z := zone(t, "America/New_York")
	booked := told(t, vent.NoticeVisitBooked, "booked", "2027-06-01", "2027-06-30", 600)
	elsewhen := told(t, vent.NoticeVisitBooked, "booked", "2027-06-01", "2027-06-29", 600)
	earlier := told(t, vent.NoticeVisitBooked, "booked", "2027-06-01", "2027-06-30", 540)
	late := told(t, vent.NoticeVisitBooked, "booked", "2027-06-28", "2027-06-30", 600)
	soon := told(t, vent.NoticeVisitSoon, "3_days", "2027-06-27", "2027-06-30", 600)
	cancelled := told(t, vent.NoticeVisitCancelled, "cancelled", "2027-06-10", "2027-06-30", 600)
	entry := told(t, vent.NoticeEntry, "entry", "2027-06-20", "2027-06-30", 600)
	waits := elsewhen
	waits.State, waits.Settled = vent.NoticeWanted, 0
	for _, c := range []struct {
		name, today string
		state       vent.VisitState
		occupant    bool
		told        []vent.Notice
		kind        vent.NoticeKind
		step        vent.Step
		next        string
	}{
		{"nobody agreed", "2027-06-01", vent.Proposed, false, nil, "", "", ""},
		{"just booked", "2027-06-01", vent.Booked, false, nil, vent.NoticeVisitBooked, "booked", ""},
		{"was told", "2027-06-02", vent.Booked, false, []vent.Notice{booked}, "", "", "2027-06-27T12:00:00Z"},
		{"another day", "2027-06-02", vent.Booked, false, []vent.Notice{elsewhen}, vent.NoticeVisitMoved, "moved", ""},
		{"another hour", "2027-06-02", vent.Booked, false, []vent.Notice{earlier}, vent.NoticeVisitMoved, "moved", ""},
		{"the first word still waits", "2027-06-02", vent.Booked, false, []vent.Notice{waits}, "", "", "2027-06-27T12:00:00Z"},
		{"three days before", "2027-06-27", vent.Booked, false, []vent.Notice{booked}, vent.NoticeVisitSoon, "3_days", "2027-06-29T12:00:00Z"},
		{"reminded once", "2027-06-28", vent.Booked, false, []vent.Notice{booked, soon}, "", "", "2027-06-29T12:00:00Z"},
		{"tomorrow", "2027-06-29", vent.Booked, false, []vent.Notice{booked, soon}, vent.NoticeVisitSoon, "1_day", ""},
		{"booked two days before: once reminded", "2027-06-28", vent.Booked, false, []vent.Notice{late}, "", "", "2027-06-29T12:00:00Z"},
		{"off yesterday", "2027-06-30", vent.Booked, false, []vent.Notice{booked}, vent.NoticeVisitSoon, "1_day", ""},
		{"over", "2027-07-01", vent.Booked, false, []vent.Notice{booked}, "", "", ""},
		{"cancelled", "2027-06-10", vent.Cancelled, false, []vent.Notice{booked}, vent.NoticeVisitCancelled, "cancelled", ""},
		{"cancelled before they knew", "2027-06-10", vent.Cancelled, false, nil, "", "", ""},
		{"cancelled before the mail went", "2027-06-10", vent.Cancelled, false, []vent.Notice{waits}, "", "", ""},
		{"told that it is cancelled", "2027-06-11", vent.Cancelled, false, []vent.Notice{booked, cancelled}, "", "", ""},
		{"cancelled too late", "2027-07-01", vent.Cancelled, false, []vent.Notice{booked}, "", "", ""},
		{"booked again", "2027-06-11", vent.Booked, false, []vent.Notice{booked, cancelled}, vent.NoticeVisitBooked, "booked", ""},
		{"done early", "2027-06-29", vent.VisitDone, false, []vent.Notice{booked}, "", "", ""},
		{"who lives there, long before", "2027-06-11", vent.Booked, true, nil, "", "", "2027-06-20T12:00:00Z"},
		{"who lives there, ten days before", "2027-06-20", vent.Booked, true, nil, vent.NoticeEntry, "entry", ""},
		{"who lives there, too late", "2027-06-25", vent.Booked, true, nil, vent.NoticeEntry, "entry", ""},
		{"who lives there, cancelled", "2027-06-25", vent.Cancelled, true, []vent.Notice{entry}, vent.NoticeVisitCancelled, "cancelled", ""},
		{"who lives there, tomorrow", "2027-06-29", vent.Booked, true, []vent.Notice{entry}, vent.NoticeVisitSoon, "1_day", ""},
	} {
		m := cadence.VisitMatter{Visit: vent.Visit{On: day(t, "2027-06-30"), State: c.state}, Part: vent.Appointment{Start: 600, State: c.state},
			Begins: vent.InstantOf(day(t, "2027-06-30").At(600, z)), Occupant: c.occupant, EntryDays: 10, Told: c.told}
		plan := cadence.TellVisits([]cadence.VisitMatter{m}, cadence.Default(), z, vent.InstantOf(day(t, c.today).At(9*60, z)))
		var kind vent.NoticeKind
		var step vent.Step
		for _, w := range plan.Wanted {
			kind, step = w.Kind, w.Step
		}
		if kind != c.kind || step != c.step || plan.Next.String() != c.next {
			t.Errorf("%s: %q %q, next %q; want %q %q, next %q", c.name, kind, step, plan.Next, c.kind, c.step, c.next)
		}
	}
	if p := cadence.TellVisits(nil, cadence.Default(), time.UTC, 1); p.Next != 0 || len(p.Wanted) != 0 {
		t.Errorf("no visits: %+v", p)
	}
}
