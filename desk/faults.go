package desk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// FaultView is a fault with where it is and what its rule says.
type FaultView struct {
	Fault vent.Fault `json:"fault"`
	Place
	Looks    string   `json:"looks"`    // what it looks like
	Do       string   `json:"do"`       // what puts it right
	By       string   `json:"by_whom"`  // who may put it right
	Sources  []string `json:"sources"`  // who says so
	Cautions []string `json:"cautions"` // what goes with the work
	FollowUp bool     `json:"follow_up,omitempty"`
	// Stage, Untold and Unacknowledged tell how far a stop fault has come.
	Stage          faults.Stage    `json:"stage,omitempty"`
	Untold         []vent.CallRole `json:"untold,omitempty"`
	Unacknowledged []vent.CallRole `json:"unacknowledged,omitempty"`
}

// FaultQuery asks for faults.
type FaultQuery struct {
	Run    vent.ID    // of one run and its dryers; none: of the scope
	Scope  vent.Scope // zero: everything
	Words  string     // each must occur in the place's names
	Closed bool       // those that were put right as well
	Max    int        // 0: all
}

// Faults lists faults: stop first, then by deadline. total counts what fits, shown or not.
func (d *Desk) Faults(by By, q FaultQuery) (views []FaultView, total int, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		views = nil
		l := faultLister{tx: tx, guide: newGuide(tx), now: vent.InstantOf(by.Now), words: strings.Fields(strings.ToLower(q.Words)), query: q}
		if !q.Run.IsZero() {
			if err := l.ofRun(q.Run); err != nil {
				return err
			}
		} else if err := l.all(); err != nil {
			return err
		}
		views, total = l.page()
		return nil
	})
	return views, total, err
}

type faultLister struct {
	tx    *store.Tx
	guide *guide
	now   vent.Instant
	words []string
	query FaultQuery
	views []FaultView
}

func (l *faultLister) ofRun(id vent.ID) error {
	run, err := store.Runs.Get(l.tx, id)
	if err != nil {
		return err
	}
	k, err := openDocket(l.tx, run, vent.Appliance{})
	if err != nil {
		return err
	}
	for _, f := range k.faults {
		if err := l.take(f, run); err != nil {
			return err
		}
	}
	return nil
}

func (l *faultLister) all() error {
	for f, err := range store.Faults.All(l.tx) {
		if err != nil {
			return err
		}
		if f.State == vent.FaultFixed && !l.query.Closed {
			continue
		}
		runs, err := runsAbout(l.tx, f.Subject)
		if err != nil {
			return fmt.Errorf("list fault %s: %w", f.ID, err)
		}
		if len(runs) == 0 {
			continue // a dryer without a run: it stands in its own history
		}
		if err := l.take(f, runs[0]); err != nil {
			return err
		}
	}
	return nil
}

func (l *faultLister) take(f vent.Fault, run vent.Run) error {
	if f.State == vent.FaultFixed && !l.query.Closed {
		return nil
	}
	p, err := l.guide.place(run)
	if err != nil {
		return fmt.Errorf("list fault %s: %w", f.ID, err)
	}
	s := l.query.Scope
	if s.Kind == vent.KindSite && s.ID != p.Site.ID || s.Kind == vent.KindCustomer && s.ID != p.Customer.ID || !p.fits(l.words) {
		return nil
	}
	v, err := faultView(l.tx, f, p, l.now)
	if err == nil {
		l.views = append(l.views, v)
	}
	return err
}

func (l *faultLister) page() ([]FaultView, int) {
	slices.SortStableFunc(l.views, func(a, b FaultView) int {
		return cmp.Or(cmp.Compare(standing(a.Fault), standing(b.Fault)), cmp.Compare(a.Fault.Deadline, b.Fault.Deadline))
	})
	total := len(l.views)
	if l.query.Max > 0 && total > l.query.Max {
		l.views = l.views[:l.query.Max]
	}
	return l.views, total
}

// standing orders faults for a list: open stops, other open ones, waived ones, those put right.
func standing(f vent.Fault) int {
	switch {
	case f.State == vent.FaultFixed:
		return 3
	case f.State == vent.FaultWaived:
		return 2
	case f.Severity == vent.Stop:
		return 0
	}
	return 1
}

// faultView puts a fault beside its place and its rule.
func faultView(tx *store.Tx, f vent.Fault, p Place, now vent.Instant) (v FaultView, err error) {
	v = FaultView{Fault: f, Place: p, Looks: f.Rule}
	if r, ok := rules.FaultByID(f.Rule); ok {
		gas := false
		if id := p.Run.Current().DryerID; !id.IsZero() {
			dryer, err := store.Appliances.Get(tx, id)
			if err != nil {
				return v, err
			}
			gas = dryer.Fuel == vent.Gas
		}
		v.Looks, v.Do, v.By, v.FollowUp = r.Looks, r.Do, string(r.By), r.FollowUp
		for _, s := range r.Sources {
			v.Sources = append(v.Sources, s.String())
		}
		for _, c := range r.CautionsAt(gas, p.Run.Shared()) {
			v.Cautions = append(v.Cautions, rules.CautionText(c))
		}
	}
	if f.Severity == vent.Stop {
		roles := rolesAt(p, now.DateIn(zoneOf(p.Site.Zone)))
		v.Stage = faults.StageOf(f, roles)
		if f.State == vent.FaultOpen {
			v.Untold, v.Unacknowledged = faults.Untold(f, roles), faults.Unacknowledged(f, roles)
		}
	}
	return v, nil
}

// rolesAt lists who must be told of a stop fault in a place: where nobody lives, no occupant.
func rolesAt(p Place, today vent.Date) []vent.CallRole {
	var roles []vent.CallRole
	if !p.Unit.OccupantOn(today).IsZero() {
		roles = append(roles, vent.ToldOccupant)
	}
	return append(roles, vent.ToldCustomer, vent.ToldOperator)
}

// runsAbout gives the runs whose dues a subject's faults make: the run itself, or those of its unit that use the
// appliance; for an alarm the unit's first.
func runsAbout(tx *store.Tx, s vent.Subject) (runs []vent.Run, err error) {
	switch s.Kind {
	case vent.KindRun:
		run, err := store.Runs.Get(tx, s.ID)
		return []vent.Run{run}, err
	case vent.KindAppliance:
		a, err := store.Appliances.Get(tx, s.ID)
		if err != nil {
			return nil, err
		}
		for run, err := range store.RunsOfUnit(tx, a.UnitID) {
			if err != nil {
				return nil, err
			}
			alarms, err := alarmsOf(tx, run)
			if err != nil {
				return nil, err
			}
			if slices.Contains((&docket{alarms: alarms}).subjects(run), s) || slices.Contains(run.Current().InLine, s.ID) {
				runs = append(runs, run)
			}
		}
	}
	return runs, nil
}

// Fault gives one fault with where it is. who is its id or the id's beginning (8 digits at least).
func (d *Desk) Fault(by By, who string) (v FaultView, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		f, err := findFault(tx, who)
		if err != nil {
			return err
		}
		v, err = viewOf(tx, f, vent.InstantOf(by.Now))
		return err
	})
	return v, err
}

func viewOf(tx *store.Tx, f vent.Fault, now vent.Instant) (v FaultView, err error) {
	runs, err := runsAbout(tx, f.Subject)
	if err != nil {
		return v, err
	}
	if len(runs) == 0 {
		return FaultView{Fault: f, Looks: f.Rule}, nil
	}
	p, err := newGuide(tx).place(runs[0])
	if err != nil {
		return v, err
	}
	return faultView(tx, f, p, now)
}

func findFault(tx *store.Tx, who string) (f vent.Fault, err error) {
	who = strings.TrimSpace(who)
	if id, err := vent.ParseID(who); err == nil {
		return store.Faults.Get(tx, id)
	}
	if len(who) < 8 {
		return f, fmt.Errorf("fault %q: give its id, or at least 8 digits of it: %w", who, vent.ErrInvalid)
	}
	n := 0
	for x, err := range store.Faults.All(tx) {
		if err != nil {
			return f, err
		}
		if strings.HasPrefix(x.ID.String(), who) {
			f = x
			n++
		}
	}
	switch n {
	case 0:
		return f, fmt.Errorf("no fault's id begins with %q: %w", who, vent.ErrNotFound)
	case 1:
		return f, nil
	}
	return f, fmt.Errorf("%d faults' ids begin with %q: give more digits: %w", n, who, vent.ErrConflict)
}

// FixFault says that somebody put a fault right. on may be zero: today at the site. A stop fault is refused: see ReleaseFault.
func (d *Desk) FixFault(by By, id vent.ID, on vent.Date, who, how string) (FaultView, error) {
	return d.changeFault(by, id, on, func(_ *store.Tx, f vent.Fault, on vent.Date) (vent.Fault, error) { return faults.Fix(f, on, who, how) })
}

// WaiveFault says that somebody declined to put a fault right before a day, and why. It comes back by itself on that day.
func (d *Desk) WaiveFault(by By, id vent.ID, who string, until vent.Date, why string) (FaultView, error) {
	return d.changeFault(by, id, 0, func(_ *store.Tx, f vent.Fault, on vent.Date) (vent.Fault, error) {
		return faults.Waive(f, on, who, until, why)
	})
}

// TagFault says that a tag hangs on a stopped dryer, or no longer does.
func (d *Desk) TagFault(by By, id vent.ID, hangs bool) (FaultView, error) {
	return d.changeFault(by, id, 0, func(_ *store.Tx, f vent.Fault, _ vent.Date) (vent.Fault, error) { return faults.Tag(f, hangs) })
}

// NoteCall adds a line to a stop fault's call list: who was told, how, and whether they acknowledged. A moment that is
// left out is now.
func (d *Desk) NoteCall(by By, id vent.ID, c vent.Call) (FaultView, error) {
	return d.changeFault(by, id, 0, func(tx *store.Tx, f vent.Fault, _ vent.Date) (vent.Fault, error) {
		if c.At.IsZero() {
			c.At = tx.Now()
		}
		if c.At > tx.Now() {
			return f, vent.Problems{{Field: "told.at", Value: c.At.String(), Text: "is in the future"}}
		}
		return faults.Tell(f, c)
	})
}

// Release is who releases a stop fault, by what right, and what was done.
type Release struct {
	Person vent.ID `json:"person,omitzero"` // one of ours: name and licence are taken from the record
	Name   string  `json:"name,omitempty"`  // of anybody else
	// As is the licence, trade or authority, for example "gas fitter, licence 12345".
	As string `json:"as"`
	// Licensed says that it is a licence for the work. For one of ours their skills say it.
	Licensed bool      `json:"licensed,omitempty"`
	On       vent.Date `json:"on,omitzero"` // zero: today at the site
	What     string    `json:"what"`        // found and done
}

// Skills that are licences for gas and electrical work.
var licences = []string{"licensed", "gas", "electrical"}

// ReleaseFault lets a stopped dryer be used again: by a named qualified person alone, for gas and electrical faults a
// licensed one. The sign that raised the fault is answered by it.
func (d *Desk) ReleaseFault(by By, id vent.ID, r Release) (FaultView, error) {
	return d.changeFault(by, id, r.On, func(tx *store.Tx, f vent.Fault, on vent.Date) (vent.Fault, error) {
		who := faults.Releaser{Name: r.Name, As: r.As, Licensed: r.Licensed}
		if !r.Person.IsZero() {
			p, err := store.Persons.Get(tx, r.Person)
			if err != nil {
				return f, err
			}
			who.Name = p.Name
			who.Licensed = slices.ContainsFunc(p.Skills, func(s string) bool { return slices.Contains(licences, strings.ToLower(s)) })
		}
		next, err := faults.Release(f, on, who, r.What)
		if err != nil || f.SignID.IsZero() {
			return next, err
		}
		return next, answerSign(tx, f)
	})
}

// answerSign has the release of a stop fault answer the sign that raised it.
func answerSign(tx *store.Tx, f vent.Fault) error {
	s, err := store.Signs.Get(tx, f.SignID)
	if errors.Is(err, vent.ErrNotFound) || err == nil && !s.Open() {
		return nil
	}
	if err != nil {
		return err
	}
	s.Released = f.ID
	return store.Signs.Put(tx, s, "sign answered by the release of "+f.Rule)
}

// changeFault changes one fault as a rule says and plans the runs that it makes dues on.
func (d *Desk) changeFault(by By, id vent.ID, on vent.Date, rule func(*store.Tx, vent.Fault, vent.Date) (vent.Fault, error)) (v FaultView, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		f, err := store.Faults.Get(tx, id)
		if err != nil {
			return fmt.Errorf("change a fault: %w", err)
		}
		runs, err := runsAbout(tx, f.Subject)
		if err != nil {
			return fmt.Errorf("change fault %s: %w", f.Rule, err)
		}
		today := tx.Now().DateIn(zoneOf(operator(tx).Zone))
		if len(runs) > 0 {
			site, err := store.Sites.Get(tx, runs[0].SiteID)
			if err != nil {
				return fmt.Errorf("change fault %s: %w", f.Rule, err)
			}
			today = tx.Now().DateIn(zoneOf(site.Zone))
		}
		if on > today {
			return vent.Problems{{Field: "closed", Value: on.String(), Text: "is in the future: today is " + today.String()}}
		}
		next, err := rule(tx, f, cmp.Or(on, today))
		if err != nil {
			return err
		}
		if err := putFault(tx, next); err != nil {
			return err
		}
		for _, run := range runs {
			if _, err := d.planRun(tx, run, vent.Subject{Kind: vent.KindFault, ID: f.ID}); err != nil {
				return err
			}
		}
		v, err = viewOf(tx, next, tx.Now())
		return err
	})
	if err == nil {
		d.kick(JobTell)
	}
	return v, err
}
