package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// mails plays the clock's jobs at a moment and gives what was handed over: "class address".
func (r faultRig) mails(by By) (out []string) {
	r.t.Helper()
	for range 2 {
		if _, err := r.Tell(context.Background(), by); err != nil {
			r.t.Fatal(err)
		}
		for {
			m, err := r.Claim(by, vent.ByMail, func(x Reminder) (Letter, error) {
				var steps []string
				for _, it := range x.Items {
					steps = append(steps, fmt.Sprint(it.Due.Reason.Rule, it.Step))
				}
				if x.Stop() && slices.ContainsFunc(x.Items, func(it ReminderItem) bool { return it.Due.Severity != vent.Stop }) {
					return Letter{}, errors.New("a stop carries reminders")
				}
				return Letter{MailID: x.Message.ID.String() + strings.Join(steps, ","), Raw: []byte("letter")}, nil
			})
			if err != nil {
				r.t.Fatal(err)
			}
			if m == nil {
				break
			}
			out = append(out, m.Class+" "+m.To)
			if err := r.Settle(by, m.ID, Accepted, "250"); err != nil {
				r.t.Fatal(err)
			}
		}
	}
	slices.Sort(out)
	return out
}

// stops leaves the reminders out.
func stops(mails []string) string {
	return strings.Join(slices.DeleteFunc(mails, func(s string) bool { return !strings.HasPrefix(s, "stop ") }), "; ")
}

func hour(day string, h int) By {
	zone, _ := time.LoadLocation("America/New_York")
	return By{Now: theDay(day).At(h*60, zone), Actor: "clock"}
}

// A smell of burning at three at night: occupant, customer and operator are told within the hour, though the customer had
// asked for no mails; then once a day when the window opens, until their role has acknowledged or the dryer is released.
func TestStopIsToldPastEverything(t *testing.T) {
	r := newFaultRig(t, oneHome)
	if err := r.SetOperator(at("2026-03-03"), vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Zone: "America/New_York", Units: vent.US, Email: "desk@larkspur.example"}); err != nil {
		t.Fatal(err)
	}
	err := r.store.Update(at("2026-03-03"), func(tx *store.Tx) error {
		for p, err := range store.PersonsByMail(tx, "ida.lund@example.com") {
			if err != nil {
				return err
			}
			p.Consents = append(p.Consents, vent.Consent{Purpose: "all", Given: false, At: tx.Now(), How: "one-click"})
			if err := store.Persons.Put(tx, p, "no more mails"); err != nil {
				return err
			}
			break
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := r.mails(hour("2026-03-05", 2)); stops(got) != "" {
		t.Errorf("before: %v", got)
	}
	got, err := r.ReportSign(hour("2026-03-05", 3), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell})
	if err != nil {
		t.Fatal(err)
	}
	const all = "stop desk@larkspur.example; stop ida.lund@example.com; stop olle.lund@example.com"
	if got := stops(r.mails(hour("2026-03-05", 3))); got != all {
		t.Errorf("at three at night: %s", got)
	}
	f := r.fault(rules.BurningReported)
	if v, err := r.Fault(hour("2026-03-05", 4), f.ID.String()); err != nil || len(v.Untold) > 0 || len(v.Unacknowledged) != 3 || len(f.Told) != 3 {
		t.Errorf("%+v, %v", v, err)
	}
	for _, by := range []By{hour("2026-03-05", 4), hour("2026-03-05", 15), hour("2026-03-06", 1)} {
		if got := stops(r.mails(by)); got != "" {
			t.Errorf("%s: told again: %s", by.Now, got)
		}
	}
	if _, err := r.NoteCall(hour("2026-03-05", 16), f.ID, vent.Call{Who: "Olle Lund", How: "telephone", Role: vent.ToldOccupant, Ackd: true}); err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-03-06", 8))); got != "stop desk@larkspur.example; stop ida.lund@example.com" {
		t.Errorf("the next morning: %s", got)
	}
	if got := stops(r.mails(hour("2026-03-07", 9))); got != "stop desk@larkspur.example; stop ida.lund@example.com" {
		t.Errorf("the morning after: %s", got)
	}
	if _, err := r.ReleaseFault(hour("2026-03-08", 7), f.ID, Release{Name: "Marlon Fay", As: "appliance technician, certificate 88", What: "belt replaced"}); err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-03-08", 10))); got != "" {
		t.Errorf("after the release: %s", got)
	}
	// Smelled again the same day: everybody is told anew.
	if again, err := r.ReportSign(hour("2026-03-08", 22), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell}); err != nil || again.Fault.ID != got.Fault.ID {
		t.Errorf("%+v %v", again, err)
	}
	if got := stops(r.mails(hour("2026-03-08", 22))); got != all {
		t.Errorf("smelled again: %s", got)
	}
}

// An open stop that came with an export from another installation is told there as well, with the next day's round.
func TestStopFromElsewhereIsTold(t *testing.T) {
	r := newFaultRig(t, oneHome)
	if _, err := r.ReportSign(hour("2026-03-05", 3), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell}); err != nil {
		t.Fatal(err)
	}
	there := faultRig{emptyDesk(t), t, r.run}
	doImport(t, there.Desk, 4, "all.jsonl", string(exportOf(t, r.Desk)), ImportOptions{})
	if err := there.WakeStops(hour("2026-03-07", 0)); err != nil {
		t.Fatal(err)
	}
	if got := stops(there.mails(hour("2026-03-07", 1))); got != "stop ida.lund@example.com; stop olle.lund@example.com" {
		t.Errorf("told: %s", got)
	}
}

// Whoever is erased leaves no name on a call list.
func TestErasureReachesTheCallList(t *testing.T) {
	r := newFaultRig(t, oneHome)
	got, err := r.ReportSign(at("2026-03-05"), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.NoteCall(at("2026-03-05"), got.Fault.ID, vent.Call{Who: "Olle Lund", How: "telephone", Role: vent.ToldOccupant}); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Erase(at("2026-03-06"), "olle.lund@example.com"); err != nil {
		t.Fatal(err)
	}
	if told := r.fault(rules.BurningReported).Told; len(told) != 1 || told[0].Who != "(erased)" {
		t.Errorf("%+v", told)
	}
	if strings.Contains(string(exportOf(t, r.Desk)), "Olle") {
		t.Error("the export still names him")
	}
}

// A stop that is released before its mail went out is not told; an address that is dead is not tried, and one that is
// missing keeps nobody else from being told.
func TestStopIsNotToldWhereItCannotOrNeedNot(t *testing.T) {
	r := newFaultRig(t, strings.Replace(oneHome, "olle.lund@example.com", "", 1))
	got, err := r.ReportSign(hour("2026-03-05", 3), vent.Sign{RunID: r.run.ID, Kind: vent.COAlarmRang})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Tell(context.Background(), hour("2026-03-05", 3)); err != nil {
		t.Fatal(err)
	}
	if _, err := r.ReleaseFault(hour("2026-03-05", 4), got.Fault.ID, Release{Name: "Marlon Fay", As: "gas fitter, licence 12345", Licensed: true, What: "alarm was past its date, no CO measured"}); err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-03-05", 4))); got != "" {
		t.Errorf("told after the release: %s", got)
	}
	if _, err := r.ReportSign(hour("2026-03-06", 3), vent.Sign{RunID: r.run.ID, Kind: vent.COAlarmRang}); err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-03-06", 3))); got != "stop ida.lund@example.com" {
		t.Errorf("%s", got)
	}
	err = r.store.Update(hour("2026-03-06", 5), func(tx *store.Tx) error {
		for p, err := range store.PersonsByMail(tx, "ida.lund@example.com") {
			if err != nil {
				return err
			}
			p.Undeliverable = "550 no such user"
			return store.Persons.Put(tx, p, "dead address")
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-03-07", 9))); got != "" {
		t.Errorf("mail to a dead address: %s", got)
	}
}
