package store

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"ventdue/vent"
)

// A life is one run's dues as events come, told step by step. Everything is invented: Elm Court belongs to customer
// 7 until customer 17 buys it.
type life struct {
	*testing.T
	s  *Store
	at Place
}

var (
	elmCourt = Place{Subject: vent.Subject{Kind: vent.KindRun, ID: id(30)}, Site: id(20), Customer: id(10)}
	imported = id(101) // the event that opened the first cycle
	cleaned  = id(102) // the finding that opened the second
	june     = vent.NewDate(2027, 6, 1)
)

func newLife(t *testing.T) *life {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error { return errors.Join(places(tx)...) })
	return &life{t, s, elmCourt}
}

// places stores what the stories' dues name.
func places(tx *Tx) (errs []error) {
	for _, n := range []byte{10, 11} {
		errs = append(errs, Customers.Put(tx, customer(id(n)), ""))
	}
	for _, n := range []byte{20, 21} {
		errs = append(errs, Sites.Put(tx, vent.Site{ID: id(n), CustomerID: id(10), Name: "Elm Court", Zone: "America/New_York"}, ""))
	}
	return append(errs, Runs.Put(tx, vent.Run{ID: id(30), SiteID: id(20), Name: "3B", Shape: vent.Single}, ""))
}

func clean(opener vent.ID, day vent.Date) vent.Wanted {
	return vent.Wanted{Kind: vent.DueClean, Opener: opener, Day: day, Earliest: day.AddDays(-30), Latest: day.AddDays(30)}
}

// then reconciles and says what was done, which scopes' revisions rose, and that nothing else did.
func (l *life) then(after time.Duration, by vent.Kind, want string, wanted ...vent.Wanted) {
	l.Helper()
	before := l.revisions()
	var c Changes
	update(l, l.s, after, func(tx *Tx) (err error) {
		c, err = Reconcile(tx, l.at, wanted, vent.Subject{Kind: by, ID: id(200)})
		return err
	})
	now := l.revisions()
	got := fmt.Sprintf("opened %d moved %d closed %d kept %d:", c.Opened, c.Moved, c.Closed, c.Kept)
	for i, scope := range scopes {
		switch {
		case now[i].N == before[i].N+1 && now[i].At > before[i].At:
			got += " " + scope.name
		case now[i] != before[i]:
			l.Errorf("revision of %s went from %v to %v", scope.name, before[i], now[i])
		}
	}
	if got != want {
		l.Errorf(" got %s\nwant %s", got, want)
	}
}

var scopes = []struct {
	name string
	vent.Scope
}{
	{"operator", vent.OperatorScope},
	{"site20", vent.Scope{Kind: vent.KindSite, ID: id(20)}}, {"site21", vent.Scope{Kind: vent.KindSite, ID: id(21)}},
	{"customer10", vent.Scope{Kind: vent.KindCustomer, ID: id(10)}}, {"customer11", vent.Scope{Kind: vent.KindCustomer, ID: id(11)}},
}

func (l *life) revisions() (all []Revision) {
	view(l, l.s, func(tx *Tx) error {
		for _, s := range scopes {
			all = append(all, tx.Revision(s.Scope))
		}
		return nil
	})
	return all
}

// due gives the due of the cycle that opener opened.
func (l *life) due(opener vent.ID) (d vent.Due) {
	l.Helper()
	view(l, l.s, func(tx *Tx) error {
		all, err := Collect(DuesOf(tx, l.at.Subject))
		i := slices.IndexFunc(all, func(d vent.Due) bool { return d.Opener == opener })
		if i < 0 {
			l.Fatalf("no due was opened by %s: %v", opener, err)
		}
		d = all[i]
		return err
	})
	return d
}

// tell notes that a person was told the due's day.
func (l *life) tell(opener vent.ID) {
	d := l.due(opener)
	d.ToldDay = d.Day
	update(l, l.s, 0, func(tx *Tx) error { return Dues.Put(tx, d, "") })
}

func TestADueThatMovesKeepsItsUID(t *testing.T) {
	l := newLife(t)
	l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
	born := l.due(imported)
	if born.UID == "" || born.Sequence != 0 || born.State != vent.DueOpen || born.Created != vent.InstantOf(t0) || born.Modified != born.Created {
		t.Errorf("born as %+v", born)
	}

	l.then(time.Hour, vent.KindRun, "opened 0 moved 0 closed 0 kept 1:", clean(imported, june))
	equal(t, "a due that is wanted as it is", l.due(imported), born)

	l.then(2*time.Hour, vent.KindRun, "opened 0 moved 1 closed 0 kept 0: operator site20 customer10", clean(imported, june.AddDays(3)))
	moved := l.due(imported)
	if moved.UID != born.UID || moved.ID != born.ID || moved.Created != born.Created {
		t.Error("moving made another due of it")
	}
	if moved.Sequence != 1 || moved.Modified != vent.InstantOf(t0.Add(2*time.Hour)) || moved.Day != june.AddDays(3) {
		t.Errorf("moved to %+v", moved)
	}
}

// LAST-MODIFIED counts seconds, and a client that compares it must see each change (RFC 5545 section 3.8.7.3).
func TestTwoChangesInOneSecondAreTwo(t *testing.T) {
	l := newLife(t)
	l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
	last := l.due(imported)
	for n, after := range []time.Duration{0, 100 * time.Millisecond, -time.Hour} { // the clock may also be set back
		l.then(after, vent.KindRun, "opened 0 moved 1 closed 0 kept 0: operator site20 customer10", clean(imported, june.AddDays(n+1)))
		d := l.due(imported)
		if d.Sequence != last.Sequence+1 || d.Modified <= last.Modified {
			t.Errorf("sequence %d -> %d, modified %s -> %s", last.Sequence, d.Sequence, last.Modified, d.Modified)
		}
		last = d
	}
}

func TestANewCycleHasANewUID(t *testing.T) {
	l := newLife(t)
	l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
	l.then(time.Hour, vent.KindFinding, "opened 1 moved 0 closed 1 kept 0: operator site20 customer10", clean(cleaned, june.AddDays(365)))
	old, next := l.due(imported), l.due(cleaned)
	if old.State != vent.DueDone || old.ClosedBy != id(200) || old.Closed != vent.InstantOf(t0.Add(time.Hour)) || old.Sequence != 1 {
		t.Errorf("the old cycle ended as %+v", old)
	}
	if next.UID == old.UID || next.Sequence != 0 {
		t.Errorf("the new cycle began as %+v", next)
	}
	l.then(2*time.Hour, vent.KindFinding, "opened 0 moved 0 closed 0 kept 1:", clean(cleaned, june.AddDays(365)))
	equal(t, "the old cycle", l.due(imported), old)
	view(t, l.s, func(tx *Tx) error {
		open, err := Collect(OpenDuesOf(tx, elmCourt.Subject))
		equal(t, "open dues", open, []vent.Due{next})
		for _, s := range scopes {
			open, e := Collect(OpenDuesIn(tx, s.Scope, 0, 0))
			if has := s.name != "site21" && s.name != "customer11"; len(open) != map[bool]int{true: 1}[has] || e != nil {
				t.Errorf("%s shows %d dues, %v", s.name, len(open), e)
			}
		}
		return err
	})
}

func TestWhatClosesADue(t *testing.T) {
	for by, want := range map[vent.Kind]vent.DueState{
		vent.KindFinding: vent.DueDone, vent.KindCheck: vent.DueDone, vent.KindFault: vent.DueDone,
		vent.KindOperator: vent.DueWithdrawn, vent.KindRun: vent.DueWithdrawn, vent.KindSign: vent.DueWithdrawn,
	} {
		l := newLife(t)
		l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
		l.then(0, by, "opened 0 moved 0 closed 1 kept 0: operator site20 customer10")
		if d := l.due(imported); d.State != want || d.Sequence != 1 {
			t.Errorf("by %s: %s, sequence %d", by, d.State, d.Sequence)
		}
	}
}

// A corrected finding says that the cleaning failed: the due it closed is open again, and calendars that showed it
// before take it for the same event, changed twice.
func TestADueThatComesBackKeepsItsUID(t *testing.T) {
	for _, by := range []vent.Kind{vent.KindFinding, vent.KindRun} {
		l := newLife(t)
		l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
		l.tell(imported)
		born := l.due(imported)
		l.then(time.Hour, by, "opened 0 moved 0 closed 1 kept 0: operator site20 customer10")
		l.then(time.Hour, vent.KindFinding, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
		back := l.due(imported)
		if back.State != vent.DueOpen || back.UID != born.UID || back.Sequence != 2 || back.Modified <= vent.InstantOf(t0.Add(time.Hour)) {
			t.Errorf("back as %+v", back)
		}
		if !back.ClosedBy.IsZero() || back.Closed != 0 {
			t.Error("an open due says when it was closed")
		}
		if back.Arm != 0 || back.ToldDay != june {
			t.Error("the same day would be told again")
		}
	}
}

func TestAToldDayThatMovesMuchLaterIsToldAgain(t *testing.T) {
	for _, c := range []struct {
		why  string
		told bool
		days []int // the day moves by so much, each time
		arm  int
	}{
		{"two weeks are no news", true, []int{14}, 0},
		{"over two weeks are", true, []int{15}, 1},
		{"in small steps too", true, []int{10, 5}, 1},
		{"there and back is none", true, []int{10, -5, 9}, 0},
		{"earlier is told by the next step anyway", true, []int{-60}, 0},
		{"who was told nothing is not told again", false, []int{60}, 0},
		{"only once until told anew", true, []int{20, 20}, 1},
	} {
		l := newLife(t)
		day := june
		l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, day))
		if c.told {
			l.tell(imported)
		}
		for _, n := range c.days {
			day = day.AddDays(n)
			l.then(0, vent.KindRun, "opened 0 moved 1 closed 0 kept 0: operator site20 customer10", clean(imported, day))
		}
		if got := l.due(imported).Arm; got != c.arm {
			t.Errorf("%s: arm is %d, want %d", c.why, got, c.arm)
		}
	}
}

// A building is sold: the due leaves the old owner's calendar and enters the new one's under the same UID.
func TestADueMovesWithItsPlace(t *testing.T) {
	l := newLife(t)
	l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
	born := l.due(imported)
	l.at.Customer = id(11)
	l.then(time.Hour, vent.KindRun, "opened 0 moved 1 closed 0 kept 0: operator site20 customer10 customer11", clean(imported, june))
	l.at.Site = id(21)
	l.then(2*time.Hour, vent.KindRun, "opened 0 moved 1 closed 0 kept 0: operator site20 site21 customer11", clean(imported, june))
	if d := l.due(imported); d.UID != born.UID || d.Sequence != 2 {
		t.Errorf("moved as %+v", d)
	}
	view(t, l.s, func(tx *Tx) error {
		for _, s := range scopes {
			open, err := Collect(OpenDuesIn(tx, s.Scope, 0, 0))
			if err != nil {
				return err
			}
			if here := s.name == "operator" || s.name == "site21" || s.name == "customer11"; here != (len(open) == 1) {
				t.Errorf("%s shows %d dues", s.name, len(open))
			}
		}
		return nil
	})
}

// A place is sold after a due was closed there: what was done stays the old owner's history.
func TestAClosedDueStaysWhereItWasClosed(t *testing.T) {
	l := newLife(t)
	l.then(0, vent.KindRun, "opened 1 moved 0 closed 0 kept 0: operator site20 customer10", clean(imported, june))
	l.then(0, vent.KindFinding, "opened 0 moved 0 closed 1 kept 0: operator site20 customer10")
	l.at.Customer = id(11)
	l.then(0, vent.KindRun, "opened 0 moved 0 closed 0 kept 0:")
	if d := l.due(imported); d.CustomerID != id(10) {
		t.Error("history moved")
	}
}

func TestLookAndCleanAreTwoDues(t *testing.T) {
	l := newLife(t)
	look := clean(imported, june)
	look.Kind = vent.DueLook
	l.then(0, vent.KindRun, "opened 2 moved 0 closed 0 kept 0: operator site20 customer10", look, clean(imported, june))
	l.then(0, vent.KindFinding, "opened 0 moved 0 closed 1 kept 1: operator site20 customer10", clean(imported, june))
}

func TestOneCycleCannotBeWantedTwice(t *testing.T) {
	l := newLife(t)
	if err := l.s.Update(stamp(0), func(tx *Tx) error {
		_, err := Reconcile(tx, l.at, []vent.Wanted{clean(imported, june), clean(imported, june.AddDays(9))}, vent.OperatorSubject)
		return err
	}); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("got %v", err)
	}
}

func TestOpenDuesAreWalkedByDayWithinBounds(t *testing.T) {
	l := newLife(t)
	var wanted []vent.Wanted
	for n := range 5 {
		wanted = append(wanted, clean(id(byte(150-n)), june.AddDays(7*n)))
	}
	update(t, l.s, 0, func(tx *Tx) error {
		_, err := Reconcile(tx, l.at, wanted, vent.OperatorSubject)
		return err
	})
	view(t, l.s, func(tx *Tx) error {
		for _, c := range []struct {
			from, to vent.Date
			want     []int
		}{
			{0, 0, []int{0, 7, 14, 21, 28}}, {june.AddDays(7), june.AddDays(21), []int{7, 14}},
			{june.AddDays(8), 0, []int{14, 21, 28}}, {0, june, nil}, {0, june.AddDays(1), []int{0}},
		} {
			for _, s := range []vent.Scope{vent.OperatorScope, scopes[1].Scope, scopes[3].Scope} {
				var got []int
				for d, err := range OpenDuesIn(tx, s, c.from, c.to) {
					if err != nil {
						return err
					}
					got = append(got, june.DaysUntil(d.Day))
				}
				equal(t, fmt.Sprintf("%s from %s to %s", s, c.from, c.to), got, c.want)
			}
			if n, err := CountOpenDues(tx, c.from, c.to); n != len(c.want) || err != nil {
				t.Errorf("count is %d, %v, want %d", n, err, len(c.want))
			}
		}
		return nil
	})
}
