package wording

import (
	"strconv"

	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// CheckSheet is the recurring checks of one site as commands and programs are told them: figures and ids as they are, and
// beside them the words.
type CheckSheet struct {
	SiteID   vent.ID     `json:"site_id"`
	Site     string      `json:"site"`
	Customer string      `json:"customer"`
	Today    vent.Date   `json:"today"` // at the site
	Lines    []CheckLine `json:"lines"` // at most five, the soonest first
	Off      []CheckItem `json:"off"`   // turned off or over
	Left     []CheckItem `json:"left"`  // nobody is told of these unless they are turned on
}

// CheckLine is one errand.
type CheckLine struct {
	Line  rules.Line `json:"line"`
	Name  string     `json:"name"`
	Day   vent.Date  `json:"day"`
	State string     `json:"state"` // overdue, soon or later
	Away  string     `json:"away"`
	// Due tells how many of Checks, from the first, are done together on that day.
	Due    int         `json:"due"`
	Checks []CheckItem `json:"checks"`
}

// CheckItem is one check.
type CheckItem struct {
	Ref      string       `json:"ref"` // names it to whoever does something to it
	Rule     string       `json:"rule"`
	Name     string       `json:"name"`
	How      string       `json:"how"`
	Subject  vent.Subject `json:"subject"`
	Where    string       `json:"where"` // door and thing; "" for the building
	Day      vent.Date    `json:"day,omitzero"`
	Months   int          `json:"months"`
	Every    string       `json:"every"`
	LastDone vent.Date    `json:"last_done,omitzero"`
	DoneBy   string       `json:"done_by,omitempty"`
	PutOff   vent.Date    `json:"put_off_until,omitzero"`
	Why      string       `json:"why,omitempty"`
	Who      string       `json:"who,omitempty"`
	Off      bool         `json:"off,omitempty"`
	Asked    bool         `json:"asked"`
	ByWhom   string       `json:"by_whom"` // anybody, competent or licensed
	Cautions []string     `json:"cautions,omitempty"`
	Sources  []string     `json:"sources,omitempty"`
}

// CheckSheet puts a site's checks into words.
func (w Words) CheckSheet(s desk.CheckSheet) CheckSheet {
	out := CheckSheet{SiteID: s.Site.ID, Site: s.Site.Name, Customer: s.Customer.Name, Today: s.Today,
		Lines: []CheckLine{}, Off: w.CheckItems(s.Off), Left: w.CheckItems(s.Left)}
	for _, l := range s.Lines {
		out.Lines = append(out.Lines, CheckLine{Line: l.Line, Name: w.CheckLine(l.Line), Day: l.Day,
			State: StateKey(vent.Due{Wanted: vent.Wanted{Day: l.Day}}, s.Today), Away: w.Away(l.Day, s.Today),
			Due: l.Due, Checks: w.CheckItems(l.Items)})
	}
	return out
}

// CheckItems puts checks into words.
func (w Words) CheckItems(views []desk.CheckView) []CheckItem {
	all := make([]CheckItem, len(views))
	for i, v := range views {
		all[i] = w.checkItem(v)
	}
	return all
}

func (w Words) checkItem(v desk.CheckView) CheckItem {
	c := v.Check
	x := CheckItem{Ref: v.Ref, Rule: c.Rule, Name: w.CheckName(c.Rule), How: w.CheckHow(c.Rule), Subject: c.Subject, Where: w.CheckWhere(v),
		Day: v.Day, Months: c.Months, Every: w.CheckEvery(c), LastDone: c.LastDone, DoneBy: c.DoneBy, PutOff: c.Snoozed, Why: c.Why, Who: c.Who,
		Off: c.Off, Asked: v.Asked, Cautions: w.CheckCautions(c.Rule)}
	if r, ok := rules.CheckByID(c.Rule); ok {
		x.ByWhom = string(r.By)
		for _, s := range r.Sources {
			x.Sources = append(x.Sources, s.String())
		}
	}
	return x
}

// CheckEvery says how often a check comes.
func (w Words) CheckEvery(c vent.Check) string {
	r, _ := rules.CheckByID(c.Rule)
	switch {
	case r.Once:
		return w.Say("check.interval.once")
	case c.Months == 1:
		return w.Say("check.interval.one")
	}
	return w.Say("check.interval", "n", strconv.Itoa(c.Months))
}

// CheckWhere names what a check is about inside its building; "" for the building itself.
func (w Words) CheckWhere(v desk.CheckView) string {
	where := v.Unit.Name
	add := func(s string) {
		if s == "" {
			return
		}
		if where != "" {
			where += ", "
		}
		where += s
	}
	if v.Run.Name != vent.UsualRunName && v.Run.Name != v.Unit.Name {
		add(v.Run.Name)
	}
	switch v.Appliance.Kind {
	case vent.SmokeAlarm, vent.COAlarm, vent.Booster, vent.LintTrap:
		add(w.Say("check.thing." + string(v.Appliance.Kind)))
		if v.Appliance.Made != 0 {
			add(w.Say("check.made", "date", v.Appliance.Made.String()))
		}
	}
	add(v.Appliance.Ref)
	return where
}
