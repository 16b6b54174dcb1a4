package main

import (
	"context"
	"fmt"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// The operations on recurring checks.
const (
	opChecks = "checks"
	opCheck  = "check"
	opAlarm  = "check.alarm"
)

type checksArgs struct {
	Today vent.Date `json:"today,omitzero"`
	Words string    `json:"words,omitempty"`
	All   bool      `json:"all,omitempty"` // what nobody is told of as well
	Max   int       `json:"max,omitempty"` // sites
}

type checksAnswer struct {
	Sites []wording.CheckSheet `json:"sites"`
	Total int                  `json:"total"` // sites that fit
}

func (h *house) askChecks(_ context.Context, r call.Request, a checksArgs) (out checksAnswer, err error) {
	if r, err = h.on(r, a.Today); err != nil {
		return out, err
	}
	w, err := h.words()
	if err != nil {
		return out, err
	}
	sheets, total, err := h.desk.CheckSheets(by(r), desk.CheckQuery{Words: a.Words, All: a.All, Max: a.Max})
	out = checksAnswer{Sites: []wording.CheckSheet{}, Total: total}
	for _, s := range sheets {
		out.Sites = append(out.Sites, w.CheckSheet(s))
	}
	return out, err
}

// checkArgs is one thing done to checks: those that are named, or what is due of a line of one site.
type checkArgs struct {
	Do      desk.CheckDo `json:"do"`
	Checks  []string     `json:"checks,omitempty"`
	Site    string       `json:"site,omitempty"` // words or id
	Line    rules.Line   `json:"line,omitempty"`
	Who     string       `json:"who,omitempty"`
	Why     string       `json:"why,omitempty"`
	On      vent.Date    `json:"on,omitzero"`
	Until   vent.Date    `json:"until,omitzero"`
	Months  int          `json:"months,omitempty"`
	Made    vent.Date    `json:"made,omitzero"`
	Replace vent.Date    `json:"replace_by,omitzero"`
}

func (h *house) askCheck(_ context.Context, r call.Request, a checkArgs) (out wording.CheckSheet, err error) {
	w, err := h.words()
	if err != nil {
		return out, err
	}
	refs := a.Checks
	if a.Line != "" {
		if refs, err = h.dueOfLine(by(r), a.Site, a.Line); err != nil {
			return out, err
		}
	}
	s, err := h.desk.ActOnChecks(by(r), refs, desk.CheckAct{Do: a.Do, Who: a.Who, Why: a.Why, On: a.On, Until: a.Until, Months: a.Months, Made: a.Made, Replace: a.Replace})
	return w.CheckSheet(s), err
}

// dueOfLine names the checks of a line that are done together next.
func (h *house) dueOfLine(by desk.By, site string, line rules.Line) (refs []string, err error) {
	fits, err := h.desk.FindNamed(vent.KindSite, site, 2)
	switch {
	case err != nil:
		return nil, err
	case len(fits) == 0:
		return nil, fmt.Errorf("no site fits %q: %w", site, vent.ErrNotFound)
	case len(fits) > 1:
		return nil, fmt.Errorf("several sites fit %q, such as %s and %s: give more words: %w", site, fits[0].Name, fits[1].Name, vent.ErrConflict)
	}
	s, err := h.desk.CheckSheet(by, fits[0].Scope.ID)
	if err != nil {
		return nil, err
	}
	for _, l := range s.Lines {
		if l.Line == line {
			for _, x := range l.Items[:l.Due] {
				refs = append(refs, x.Ref)
			}
		}
	}
	if len(refs) == 0 {
		return nil, fmt.Errorf("%s has no checks of the line %s: %w", s.Site.Name, line, vent.ErrNotFound)
	}
	return refs, nil
}

type alarmArgs struct {
	Unit  string     `json:"unit"` // key or id of a unit, or words of a run of it
	Alarm desk.Alarm `json:"alarm"`
}

type alarmAnswer struct {
	Alarm vent.Appliance     `json:"alarm"`
	Sheet wording.CheckSheet `json:"checks"`
}

func (h *house) askAlarm(_ context.Context, r call.Request, a alarmArgs) (out alarmAnswer, err error) {
	w, err := h.words()
	if err != nil {
		return out, err
	}
	unit, err := h.desk.FindUnit(a.Unit)
	if err != nil {
		return out, err
	}
	alarm, s, err := h.desk.AddAlarm(by(r), unit, a.Alarm)
	return alarmAnswer{alarm, w.CheckSheet(s)}, err
}
