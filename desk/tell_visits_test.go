package desk_test

import (
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// visit books a visit to a house some days from today at a minute of the day and gives its appointment.
func (o *office) visit(h scene.Home, days, start int, dues ...vent.ID) (v vent.Visit, a vent.Appointment) {
	o.t.Helper()
	who := o.Person("Tom Reed", "")
	o.Update(func(tx *store.Tx) (err error) {
		v, err = store.SetVisit(tx, vent.Visit{SiteID: h.Site, TechnicianID: who, On: today.AddDays(days), Start: start, Minutes: 60,
			Zone: "America/New_York", State: vent.Booked}, "booked")
		if err != nil {
			return err
		}
		a, err = store.SetAppointment(tx, vent.Appointment{VisitID: v.ID, CustomerID: h.Customer, UnitID: h.Unit, Dues: dues, Start: start, Minutes: 60,
			State: vent.Booked}, "booked")
		return err
	})
	return v, a
}

func (o *office) set(v vent.Visit, a vent.Appointment) {
	o.t.Helper()
	o.Update(func(tx *store.Tx) error {
		if _, err := store.SetVisit(tx, v, "changed"); err != nil {
			return err
		}
		_, err := store.SetAppointment(tx, a, "changed")
		return err
	})
}

// kinds gives what was sent: to whom and by what steps.
func kinds(o *office, got []sent) (all []string) {
	for _, s := range got {
		m := scene.Get(o.Scene, store.Messages, s.message)
		line := s.to + " " + m.Class
		for _, id := range m.Notices {
			n := scene.Get(o.Scene, store.Notices, id)
			line += " " + string(n.Kind) + "/" + string(n.Key.Step)
		}
		all = append(all, line)
	}
	return all
}

func wantKinds(t *testing.T, o *office, got []sent, want ...string) {
	t.Helper()
	if have := kinds(o, got); strings.Join(have, "; ") != strings.Join(want, "; ") {
		t.Errorf("sent %q\nwant %q", have, want)
	}
}

// The life of a visit: told when it is booked, while its due is not reminded of; told when it moves and when it comes near; and
// told when it is called off, whereupon the due is told again.
func TestTheLifeOfAVisit(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	due := o.Due(h, today.AddDays(7))
	v, a := o.visit(h, 10, 600, due.ID)
	wantKinds(t, o, o.work(), "ida@example.com visit visit_booked/booked")
	wantKinds(t, o, o.days(5))
	v.On = today.AddDays(14)
	o.set(v, a)
	wantKinds(t, o, o.after(time.Minute), "ida@example.com visit visit_moved/moved")
	wantKinds(t, o, o.days(5))
	wantKinds(t, o, o.days(1), "ida@example.com reminder visit_soon/3_days")
	wantKinds(t, o, o.days(2), "ida@example.com reminder visit_soon/1_day")
	moved := scene.Get(o.Scene, store.Appointments, a.ID)
	moved.State = vent.Cancelled
	o.set(v, moved)
	got := o.after(time.Minute)
	wantKinds(t, o, got[:1], "ida@example.com visit visit_cancelled/cancelled")
	wantKinds(t, o, append(got[1:], o.days(1)...), "ida@example.com reminder run_due/on_the_day")
}

// Who asked for no reminders is told of their visit all the same, but not that it comes near.
func TestAVisitIsToldPastUnsubscribing(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Consents = []vent.Consent{{Purpose: vent.PurposeAll, At: 1}} })
	o.visit(o.House("Lund", "America/New_York", ida), 10, 600)
	wantKinds(t, o, append(o.work(), o.days(12)...), "ida@example.com visit visit_booked/booked")
}

// Who lives behind the door is told as many days ahead as the site says, and who booked it at once.
func TestWhoLivesThereIsToldOfAnEntry(t *testing.T) {
	o := newOffice(t)
	ida, tenant := o.Person("Ida Lund", "ida@example.com"), o.Person("Ana Ruiz", "ana@example.com")
	h := o.House("Lund", "America/New_York", ida)
	scene.Change(o.Scene, store.Units, h.Unit, func(u *vent.Unit) { u.Occupancies = []vent.Occupancy{{PersonID: tenant, From: today.AddDays(-100)}} })
	scene.Change(o.Scene, store.Sites, h.Site, func(s *vent.Site) { s.NoticeDays = 5 })
	o.visit(h, 10, 600)
	wantKinds(t, o, o.work(), "ida@example.com visit visit_booked/booked")
	wantKinds(t, o, o.days(4))
	wantKinds(t, o, o.days(1), "ana@example.com visit entry/entry")
}

// Dues, checks, faults and a near visit of one day are one mail.
func TestKindsShareADigest(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h, b := o.House("Lund", "America/New_York", ida), o.House("Beech", "America/New_York", ida)
	o.visit(b, 3, 600)
	o.work() // the confirmation
	o.Now = o.Now.Add(24 * time.Hour)
	fault := scene.Clean(h.Run, today.AddDays(3))
	fault.Kind, fault.Severity, fault.Reason = vent.DueFault, vent.Fix, vent.Reason{Bound: vent.BoundCorrective, Rule: "flap_stuck", Since: today}
	fault.Opener = h.Unit
	o.Want(h, vent.KindOperator, scene.Clean(h.Run, today.AddDays(2)), fault)
	got := o.days(1) // 4 March: the visit is tomorrow
	wantKinds(t, o, got[:1], "ida@example.com reminder run_due/on_the_day fault/7_days visit_soon/1_day")
	if len(got) != 1 {
		t.Errorf("%d mails", len(got))
	}
}

// The records of a visit's doors go into one mail, two hours later; what was corrected meanwhile is told once.
func TestTheRecordOfAVisit(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	a, b := o.House("Ash", "America/New_York", ida), o.House("Beech", "America/New_York", ida)
	find := func(h scene.Home, outcome vent.Outcome) vent.Finding {
		return vent.Finding{RunID: h.Run, Date: today, Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: outcome, Reach: vent.ReachThrough}
	}
	first, err := o.Desk.Record(o.By(), find(a, vent.Partial))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := o.Desk.Record(o.By(), find(b, vent.Full)); err != nil {
		t.Fatal(err)
	}
	wantKinds(t, o, o.after(time.Hour))
	if _, err := o.Desk.Correct(o.By(), first.Finding.ID, find(a, vent.Full)); err != nil {
		t.Fatal(err)
	}
	got := o.after(time.Hour)
	wantKinds(t, o, got, "ida@example.com record record/recorded record/recorded record/recorded")
	if n := strings.Count(got[0].body, ";"); n != 1 {
		t.Errorf("%d things are told, want 2: %s", n+1, got[0].body)
	}
}

// Where no mail went out for months, the records of old visits are not sent any more.
func TestTheRecordOfAnOldVisitLapses(t *testing.T) {
	for days, want := range map[int]int{59: 1, 61: 0} {
		o := newOffice(t)
		a := o.House("Ash", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
		if _, err := o.Desk.Record(o.By(), vent.Finding{RunID: a.Run, Date: today, Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough}); err != nil {
			t.Fatal(err)
		}
		o.Now = o.Now.AddDate(0, 0, days)
		records := 0
		for _, m := range o.work() {
			records += strings.Count(m.body, "recorded")
		}
		if records != want {
			t.Errorf("after %d days: %d records are sent, want %d", days, records, want)
		}
	}
}

// A limit of mails a day holds back what is over, visibly, until the next day.
func TestTheDaysLimitHoldsBack(t *testing.T) {
	o := newOffice(t)
	p := o.Desk.Policy()
	p.Cadence.PerDay = 2
	o.Desk.SetPolicy(p)
	for _, name := range []string{"Ash", "Beech", "Cedar"} {
		o.Due(o.House(name, "America/New_York", o.Person(name, strings.ToLower(name)+"@example.com")), today.AddDays(7))
	}
	if got := o.work(); len(got) != 2 {
		t.Errorf("%d mails today, want 2", len(got))
	}
	if tried, held, err := o.Desk.MailToday(o.Now); err != nil || tried != 2 || held != 1 {
		t.Errorf("%d tried and %d held back, %v", tried, held, err)
	}
	if got := o.days(1); len(got) != 1 {
		t.Errorf("%d mails tomorrow, want 1", len(got))
	}
}

// The operator is told each morning what needs somebody, and of nothing only on Mondays. 2 March 2026 is a Monday.
func TestTheDailySummary(t *testing.T) {
	o := newOffice(t)
	o.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Email: "office@example.com", Zone: "America/New_York", Units: vent.US})
	wake := func() {
		if err := o.Desk.WakeOperator(o.By()); err != nil {
			t.Fatal(err)
		}
	}
	wake()
	wantKinds(t, o, o.work(), "office@example.com summary summary/summary_2026-03-02")
	wantKinds(t, o, o.days(1))
	nobody := o.House("Ash", "America/New_York")
	o.Due(nobody, today.AddDays(10))
	var seen *desk.Summary
	read := func(r desk.Reminder) (desk.Letter, error) {
		seen = r.Items[0].Summary
		return desk.Letter{MailID: "x", Raw: []byte("x")}, nil
	}
	o.Now = o.Now.Add(24 * time.Hour)
	wake()
	if _, err := o.Desk.Tell(t.Context(), o.By()); err != nil {
		t.Fatal(err)
	}
	m, err := o.Desk.Claim(o.By(), vent.ByMail, read)
	if err != nil || m == nil || seen == nil {
		t.Fatalf("no summary: %v, %v", m, err)
	}
	if seen.Unbooked.N != 1 || seen.Untold.N != 1 || seen.Spent.N != 0 || seen.Empty() {
		t.Errorf("the summary: %+v", seen)
	}
}
