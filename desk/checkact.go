package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// CheckDo is what a person does to a check.
type CheckDo string

// What can be done to a check.
const (
	CheckDone   CheckDo = "done"   // it was carried out
	CheckSkip   CheckDo = "skip"   // it is left out this time
	CheckPutOff CheckDo = "putoff" // it comes back on a day
	CheckSet    CheckDo = "set"    // it comes every so many months; of an alarm's replacement: these are the dates on its back
	CheckOff    CheckDo = "off"    // it is not done any more
	CheckOn     CheckDo = "on"     // it is done again, or from now on
)

// CheckDos lists what can be done to a check.
func CheckDos() []CheckDo {
	return []CheckDo{CheckDone, CheckSkip, CheckPutOff, CheckSet, CheckOff, CheckOn}
}

// CheckAct is one thing done to one or more checks of one site.
type CheckAct struct {
	Do     CheckDo
	Who    string    // who did or decided it; needed but for CheckSet and CheckOn
	Why    string    // needed for CheckSkip, CheckPutOff and CheckOff
	On     vent.Date // of CheckDone: on which day; none: today
	Until  vent.Date // of CheckPutOff
	Months int       // of CheckSet
	// Made and Replace are the dates on an alarm's back. An alarm's replacement needs one of them: CheckDone those of the new
	// alarm, CheckSet those of the one that hangs there.
	Made, Replace vent.Date
}

// ActOnChecks does one thing to checks of one site, all or none, and gives the site's checks afterwards. refs are CheckView.Ref,
// ids, or the first eight digits or more of an id. What cannot be is refused with ErrInvalid, naming the field.
func (d *Desk) ActOnChecks(by By, refs []string, a CheckAct) (s CheckSheet, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		s, err = d.actOnChecks(tx, by, refs, a)
		return err
	})
	if err == nil {
		d.kick(JobTell)
	}
	return s, err
}

func (d *Desk) actOnChecks(tx *store.Tx, by By, refs []string, a CheckAct) (s CheckSheet, err error) {
	var p vent.Problems
	if len(refs) == 0 {
		p.Add("checks", "", "is empty: say which")
	}
	if !slices.Contains(CheckDos(), a.Do) {
		p.Add("do", string(a.Do), "is not known: use one of %s", joined(CheckDos()))
	}
	if err := p.Err(); err != nil {
		return s, err
	}
	checks, site, err := findChecks(tx, refs)
	if err != nil {
		return s, err
	}
	h, err := homeOf(tx, site)
	if err != nil {
		return s, err
	}
	cause := vent.Subject{Kind: vent.KindSite, ID: site}
	for _, c := range checks {
		if a.Do == CheckSet && c.Rule == rules.CheckAlarmReplace {
			if err := h.dateAlarm(tx, c, a); err != nil {
				return s, err
			}
			continue
		}
		next, what, err := act(c, a, h.today)
		if err != nil {
			return s, err
		}
		if next.ID.IsZero() {
			next.ID = tx.NewID()
		}
		if a.Do == CheckDone {
			cause = vent.Subject{Kind: vent.KindCheck, ID: next.ID}
			if err := h.replaceAlarm(tx, next, a); err != nil {
				return s, err
			}
		}
		if next != c {
			if err := h.put(tx, next, what); err != nil {
				return s, err
			}
		}
	}
	if _, err := h.plan(tx, cause); err != nil {
		return s, err
	}
	return checkSheet(tx, by, site)
}

func joined[T ~string](all []T) string {
	texts := make([]string, len(all))
	for i, x := range all {
		texts[i] = string(x)
	}
	return strings.Join(texts, ", ")
}

// act gives a check after an act, and what the trail says of it.
func act(c vent.Check, a CheckAct, today vent.Date) (next vent.Check, what string, err error) {
	name := "check " + c.Rule
	switch a.Do {
	case CheckDone:
		on := a.On
		if on == 0 {
			on = today
		}
		next, err = faults.Done(c, on, today, a.Who)
		return next, name + " done on " + on.String() + " by " + a.Who, err
	case CheckSkip:
		next, err = faults.Skip(c, a.Why, a.Who)
		return next, name + " left out by " + a.Who + ": " + a.Why, err
	case CheckPutOff:
		next, err = faults.Snooze(c, a.Until, today, a.Why, a.Who)
		return next, name + " put off until " + a.Until.String() + " by " + a.Who + ": " + a.Why, err
	case CheckSet:
		next, err = faults.Every(c, a.Months)
		return next, fmt.Sprintf("%s every %d months", name, a.Months), err
	case CheckOff:
		next, err = faults.TurnOff(c, a.Why, a.Who)
		return next, name + " turned off by " + a.Who + ": " + a.Why, err
	}
	return faults.TurnOn(c, today), name + " turned on", nil
}

// replaceAlarm writes down the date of the alarm that took an old one's place: without it nobody knows when to replace that
// one.
func (h *checkHome) replaceAlarm(tx *store.Tx, c vent.Check, a CheckAct) error {
	if c.Rule != rules.CheckAlarmReplace {
		return nil
	}
	i := h.alarmOf(c)
	if i < 0 {
		return fmt.Errorf("replace an alarm: %s: %w", c.Subject, vent.ErrNotFound)
	}
	alarm := h.Appliances[i]
	alarm.Made, alarm.Replace, alarm.Installed = a.Made, a.Replace, c.LastDone
	alarm.Maker, alarm.Model, alarm.Serial = "", "", ""
	p := alarmDates(alarm, h.today)
	if by, known := faults.ReplaceBy(alarm); known && len(p) == 0 && by <= h.today {
		p.Add("made", alarm.Made.String(), "is too long ago: such an alarm was to be replaced by %s", by)
	}
	if err := p.Err(); err != nil {
		return fmt.Errorf("replace an alarm: %w", err)
	}
	h.Appliances[i] = alarm
	return store.Appliances.Put(tx, alarm, "alarm replaced on "+c.LastDone.String()+" by "+a.Who)
}

// alarmDates lists what is wrong with an alarm's dates: one of them must be there, and neither be out of the world.
func alarmDates(a vent.Appliance, today vent.Date) vent.Problems {
	var p vent.Problems
	if a.Made > today {
		p.Add("made", a.Made.String(), "is in the future: today is %s", today)
		return p
	}
	p = a.Valid()
	if _, known := faults.ReplaceBy(a); !known {
		p.Add("made", "", "is missing: look on the alarm's back for its date of manufacture, or its replacement date")
	}
	return p
}

// dateAlarm writes down the dates on the back of the alarm that hangs there.
func (h *checkHome) dateAlarm(tx *store.Tx, c vent.Check, a CheckAct) error {
	i := h.alarmOf(c)
	if i < 0 {
		return fmt.Errorf("date an alarm: %s: %w", c.Subject, vent.ErrNotFound)
	}
	alarm := h.Appliances[i]
	alarm.Made, alarm.Replace = a.Made, a.Replace
	if err := alarmDates(alarm, h.today).Err(); err != nil {
		return fmt.Errorf("date an alarm: %w", err)
	}
	h.Appliances[i] = alarm
	return store.Appliances.Put(tx, alarm, "the dates on the alarm's back")
}

// alarmOf finds the alarm that a check is about; -1 where it is gone.
func (h *checkHome) alarmOf(c vent.Check) int {
	return slices.IndexFunc(h.Appliances, func(x vent.Appliance) bool { return x.ID == c.Subject.ID })
}

// Alarm is a smoke or CO alarm to be kept.
type Alarm struct {
	Kind    vent.ApplianceKind // vent.SmokeAlarm or vent.COAlarm
	Ref     string             // own key; ""
	Maker   string
	Model   string
	Made    vent.Date // from its back; none: not known
	Replace vent.Date // the maker's own date; none
}

// AddAlarm keeps an alarm of a unit, with its test and its replacement. One whose time is over is kept too: its replacement is
// overdue. None of the dates makes the look on its back due within a month.
func (d *Desk) AddAlarm(by By, unit vent.ID, x Alarm) (a vent.Appliance, s CheckSheet, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		u, err := store.Units.Get(tx, unit)
		if err != nil {
			return fmt.Errorf("keep an alarm: %w", err)
		}
		site, err := store.Sites.Get(tx, u.SiteID)
		if err != nil {
			return fmt.Errorf("keep an alarm: %w", err)
		}
		a = vent.Appliance{ID: tx.NewID(), UnitID: unit, Kind: x.Kind, Ref: x.Ref, Maker: x.Maker, Model: x.Model, Made: x.Made, Replace: x.Replace}
		p := a.Valid()
		if a.Kind != vent.SmokeAlarm && a.Kind != vent.COAlarm {
			p.Add("kind", string(a.Kind), "must be %s or %s", vent.SmokeAlarm, vent.COAlarm)
		}
		if today := tx.Now().DateIn(zoneOf(site.Zone)); a.Made > today {
			p.Add("made", a.Made.String(), "is in the future: today is %s", today)
		}
		if err := p.Err(); err != nil {
			return fmt.Errorf("keep an alarm: %w", err)
		}
		if err := store.Appliances.Put(tx, a, "alarm added"); err != nil {
			return err
		}
		if _, err := d.planChecks(tx, u.SiteID, vent.Subject{Kind: vent.KindAppliance, ID: a.ID}); err != nil {
			return err
		}
		if err := d.replanUnit(tx, unit); err != nil {
			return err
		}
		s, err = checkSheet(tx, by, u.SiteID)
		return err
	})
	if err == nil {
		d.kick(JobTell)
	}
	return a, s, err
}

// FindUnit resolves what a person typed for a unit: its own key or id, or what FindRun takes for a run of it.
func (d *Desk) FindUnit(what string) (id vent.ID, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		what := strings.TrimSpace(what)
		if u, err := store.UnitByRef(tx, what); err == nil {
			id = u.ID
			return nil
		}
		if u, err := vent.ParseID(what); err == nil && store.Units.Has(tx, u) {
			id = u
			return nil
		}
		run, err := findRun(tx, what)
		if err != nil {
			return err
		}
		r, err := store.Runs.Get(tx, run)
		if err == nil && r.UnitID.IsZero() {
			err = fmt.Errorf("%s is a common riser: name a unit: %w", r.Name, vent.ErrInvalid)
		}
		id = r.UnitID
		return err
	})
	return id, err
}

// replanUnit plans the runs of a unit: an alarm more or less is a fault less or more.
func (d *Desk) replanUnit(tx *store.Tx, unit vent.ID) error {
	runs, err := store.Collect(store.RunsOfUnit(tx, unit))
	for _, r := range runs {
		if err == nil {
			_, err = d.planRun(tx, r, vent.Subject{Kind: vent.KindUnit, ID: unit})
		}
	}
	return err
}

// findChecks resolves refs to checks of one site; checks of several sites are refused with ErrConflict.
func findChecks(tx *store.Tx, refs []string) (checks []vent.Check, site vent.ID, err error) {
	for _, ref := range refs {
		c, at, err := findCheck(tx, strings.TrimSpace(ref))
		if err != nil {
			return nil, site, err
		}
		if !site.IsZero() && at != site {
			return nil, site, fmt.Errorf("the checks are of several sites: name those of one at a time: %w", vent.ErrConflict)
		}
		site = at
		if !slices.ContainsFunc(checks, func(x vent.Check) bool { return x.Rule == c.Rule && x.Subject == c.Subject }) {
			checks = append(checks, c)
		}
	}
	return checks, site, nil
}

func findCheck(tx *store.Tx, ref string) (c vent.Check, site vent.ID, err error) {
	if rule, about, ok := strings.Cut(ref, "@"); ok {
		return findUnstored(tx, rule, about)
	}
	if id, err := vent.ParseID(ref); err == nil {
		if c, err = store.Checks.Get(tx, id); err != nil {
			return c, site, err
		}
		site, err = siteOfSubject(tx, c.Subject)
		return c, site, err
	}
	if len(ref) < 8 {
		return c, site, fmt.Errorf("which check is %q? Give its id, or the first eight digits or more: %w", ref, vent.ErrInvalid)
	}
	n := 0
	for x, err := range store.Checks.All(tx) {
		if err != nil {
			return c, site, err
		}
		if strings.HasPrefix(x.ID.String(), ref) {
			c, n = x, n+1
		}
	}
	switch n {
	case 0:
		return c, site, fmt.Errorf("no check begins with %q: %w", ref, vent.ErrNotFound)
	case 1:
		site, err = siteOfSubject(tx, c.Subject)
		return c, site, err
	}
	return c, site, fmt.Errorf("%d checks begin with %q: give more digits: %w", n, ref, vent.ErrConflict)
}

// findUnstored gives a check by rule and subject: the stored one, or the one that nobody has turned on yet.
func findUnstored(tx *store.Tx, rule, about string) (c vent.Check, site vent.ID, err error) {
	r, ok := rules.CheckByID(rule)
	id, err := vent.ParseID(about)
	if !ok || err != nil {
		return c, site, fmt.Errorf("check %q: give it as the list names it: %w", rule+"@"+about, vent.ErrInvalid)
	}
	subject := vent.Subject{Kind: r.On, ID: id}
	if site, err = siteOfSubject(tx, subject); err != nil {
		return c, site, err
	}
	h, err := homeOf(tx, site)
	if err != nil {
		return c, site, err
	}
	missing, _ := faults.Recurring(h.Home)
	for _, x := range slices.Concat(h.Stored, missing) {
		if x.Rule == rule && x.Subject == subject {
			return x, site, nil
		}
	}
	return c, site, fmt.Errorf("%s has no check %s: %w", subject, rule, vent.ErrNotFound)
}

// siteOfSubject gives the site of what a check is about.
func siteOfSubject(tx *store.Tx, s vent.Subject) (vent.ID, error) {
	switch s.Kind {
	case vent.KindSite:
		site, err := store.Sites.Get(tx, s.ID)
		return site.ID, err
	case vent.KindRun:
		run, err := store.Runs.Get(tx, s.ID)
		return run.SiteID, err
	case vent.KindAppliance:
		a, err := store.Appliances.Get(tx, s.ID)
		if err != nil {
			return vent.ID{}, err
		}
		u, err := store.Units.Get(tx, a.UnitID)
		return u.SiteID, err
	}
	return vent.ID{}, errors.New("a check is about a site, a run or an appliance")
}
