package desk

import (
	"errors"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

func (r faultRig) personAt(mail string) (p vent.Person) {
	r.t.Helper()
	for _, x := range readAll(r.t, r.Desk).persons {
		if x.Email == mail {
			return x
		}
	}
	r.t.Fatalf("nobody is at %s", mail)
	return p
}

// The link in a stop's mail: looking changes nothing, the button ends the daily mails of this person's role alone, pressing it
// again changes nothing, and it is good for this spell only.
func TestStopIsAcknowledgedByLink(t *testing.T) {
	r := newFaultRig(t, oneHome)
	if _, err := r.ReportSign(hour("2026-03-05", 3), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell}); err != nil {
		t.Fatal(err)
	}
	const both = "stop ida.lund@example.com; stop olle.lund@example.com"
	if got := stops(r.mails(hour("2026-03-05", 3))); got != both {
		t.Fatalf("told: %s", got)
	}
	links, err := r.AckLinks(at("2026-03-05"))
	if err != nil {
		t.Fatal(err)
	}
	f, olle := r.fault(rules.BurningReported), r.personAt("olle.lund@example.com")
	path := links.Path(f, olle)
	token := strings.TrimPrefix(path, "/a/")
	for range 3 {
		a, err := r.Acknowledgement(hour("2026-03-05", 8), links, token)
		if err != nil || a.Known || a.Over || a.Fault.ID != f.ID || a.Label() != "9 Heron Lane, House" {
			t.Fatalf("looking: %+v, %v", a, err)
		}
	}
	if got := stops(r.mails(hour("2026-03-06", 9))); got != both {
		t.Errorf("the day after looking alone: %s", got)
	}
	for range 2 {
		if a, err := r.Acknowledge(hour("2026-03-06", 10), links, token); err != nil || !a.Known {
			t.Fatalf("acknowledging: %+v, %v", a, err)
		}
	}
	f = r.fault(rules.BurningReported)
	acked := 0
	for _, c := range f.Told {
		if c.Ackd {
			acked++
			if c.Role != vent.ToldOccupant || c.How == "" || strings.Contains(c.Who, "Olle") {
				t.Errorf("noted as %+v", c)
			}
		}
	}
	if acked != 1 {
		t.Errorf("noted %d times: %+v", acked, f.Told)
	}
	if got := stops(r.mails(hour("2026-03-07", 9))); got != "stop ida.lund@example.com" {
		t.Errorf("after acknowledging: %s", got)
	}

	for _, bad := range []string{"", "x", token[:len(token)-1], token + "A", strings.ToLower(token), links.Path(f, vent.Person{ID: olle.ID, LinkEpoch: 7})[3:]} {
		if _, err := r.Acknowledge(hour("2026-03-07", 9), links, bad); !errors.Is(err, vent.ErrNotFound) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	if _, err := r.Acknowledge(hour("2026-03-07", 9), AckLinks{}, token); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("without a key: %v", err)
	}

	if _, err := r.ReleaseFault(hour("2026-03-08", 7), f.ID, Release{Name: "Marlon Fay", As: "appliance technician, certificate 88", What: "belt replaced"}); err != nil {
		t.Fatal(err)
	}
	if a, err := r.Acknowledge(hour("2026-03-08", 8), links, token); err != nil || !a.Over {
		t.Errorf("after the release: %+v, %v", a, err)
	}
	if _, err := r.ReportSign(hour("2026-03-08", 22), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell}); err != nil {
		t.Fatal(err)
	}
	if a, err := r.Acknowledge(hour("2026-03-08", 23), links, token); err != nil || !a.Over {
		t.Errorf("an old mail's link acknowledged the next spell: %+v, %v", a, err)
	}
	if got := stops(r.mails(hour("2026-03-08", 23))); got != both {
		t.Errorf("the next spell is told to: %s", got)
	}
}

// Whoever moved out has nothing to acknowledge any more, and does not speak for who lives there now.
func TestWhoMovedOutAcknowledgesNothing(t *testing.T) {
	r := newFaultRig(t, oneHome)
	if _, err := r.ReportSign(hour("2026-03-05", 3), vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell}); err != nil {
		t.Fatal(err)
	}
	links, err := r.AckLinks(at("2026-03-05"))
	if err != nil {
		t.Fatal(err)
	}
	olle := r.personAt("olle.lund@example.com")
	err = r.store.Update(at("2026-03-06"), func(tx *store.Tx) error {
		u, err := store.Units.Get(tx, r.run.UnitID)
		if err != nil {
			return err
		}
		u.Occupancies[len(u.Occupancies)-1].To = theDay("2026-03-06")
		return store.Units.Put(tx, u, "moved out")
	})
	if err != nil {
		t.Fatal(err)
	}
	before := r.fault(rules.BurningReported)
	a, err := r.Acknowledge(hour("2026-03-07", 9), links, strings.TrimPrefix(links.Path(before, olle), "/a/"))
	if err != nil || !a.Known {
		t.Errorf("%+v, %v", a, err)
	}
	if after := r.fault(rules.BurningReported); len(after.Told) != len(before.Told) {
		t.Errorf("noted: %+v", after.Told)
	}
}
