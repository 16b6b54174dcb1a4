package notify

import (
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/calendar"
	"ventdue/vent"
)

// refresh is how often readers are asked to come back. Hosted calendars take no notice.
const refresh = 6 * time.Hour

// cancelledDays is how long a cancelled visit stays, marked, before it goes.
const cancelledDays = 30

// calendarOf turns what a feed shows into a calendar. It is a pure function of stored rows: no present time is in it, so
// that an unchanged feed keeps its bytes.
func calendarOf(c desk.FeedContent, address, pages string) calendar.Calendar {
	w := wording.For(c.Operator.Language, c.Operator.Units).By(c.Operator.Clock)
	cal := calendar.Calendar{
		Name:        w.Say("feed.name", "title", c.Title),
		Description: w.Say("feed.about", "operator", c.Operator.Name),
		Color:       "teal",
		Source:      address,
		Refresh:     refresh,
		Zone:        c.Zone,
		Anchor:      c.Head.Horizon,
	}
	if c.Head.Feed.Revoked != 0 {
		cal.Events = []calendar.Event{tombstone(c.Head.Feed, w)}
		return cal
	}
	for _, d := range c.Dues {
		cal.Events = append(cal.Events, dueEvent(d, w, c.Head.Feed, pages))
	}
	for _, v := range c.Visits {
		cal.Events = append(cal.Events, visitEvents(v, w, c.Head)...)
	}
	return cal
}

// fullNotice says, where a person looks, that a calendar does not hold everything. It names no number, since that would
// change with every entry.
func fullNotice(c desk.FeedContent) calendar.Event {
	w := wording.For(c.Operator.Language, c.Operator.Units).By(c.Operator.Clock)
	y, m, _ := c.Head.Horizon.Split()
	return calendar.Event{
		UID: c.Head.Feed.ID.String() + "-full", Sequence: y*12 + int(m),
		Created: c.Head.Feed.Created.Time(), Modified: c.Head.Horizon.At(0, time.UTC),
		Summary: w.Say("feed.full"), Description: w.Say("feed.full.about"),
		Transparent: true, AllDay: true, Start: c.Head.Horizon, Priority: 1,
	}
}

// dueEvent is an all-day entry on the day the work is due. It does not block the day.
func dueEvent(d desk.DueView, w wording.Words, f vent.Feed, pages string) calendar.Event {
	e := calendar.Event{
		UID: d.Due.UID, Sequence: d.Due.Sequence, Created: d.Due.Created.Time(), Modified: d.Due.Modified.Time(),
		Summary: w.Title(d), Description: describe(d, w, f.Scope), Location: d.Site.Address, Geo: geo(d.Site),
		Categories:  []string{w.Say("feed.category")},
		Transparent: true, AllDay: true, Start: d.Due.Day,
	}
	switch {
	case d.Due.Severity == vent.Stop:
		e.Priority = 1
	case d.Due.Unknown:
		e.Priority = 3
	}
	// A customer has no account for the pages; the operator's own feeds lead there.
	if pages != "" && f.Scope.Kind != vent.KindCustomer {
		e.URL = pages + pageOf(d)
	}
	e.Task = f.Tasks
	if f.Alarms {
		e.Alarms = []calendar.Alarm{{Offset: -7*24*time.Hour + 9*time.Hour}, {Offset: 9 * time.Hour}}
	}
	return e
}

// pageOf gives the page on which a due is worked: its run's, or of recurring checks the site's.
func pageOf(d desk.DueView) string {
	if d.Due.Kind == vent.DueCheck {
		return "/sites/" + d.Site.ID.String() + "/checks"
	}
	return "/runs/" + d.Run.ID.String()
}

// describe says why, for whom and with what care.
func describe(d desk.DueView, w wording.Words, scope vent.Scope) string {
	lines := w.Reason(d.Due)
	if scope.Kind != vent.KindCustomer {
		lines = append(lines, w.Say("feed.customer", "name", d.Customer.Name))
	}
	if d.Due.Kind == vent.DueCheck {
		lines = append(lines, w.CheckCautions(wording.ChecksOf(d.Due)...)...)
	}
	lines = append(lines, w.Say("caution.smell"), w.Say("caution.codes"))
	return strings.Join(lines, "\n")
}

// visitEvents gives a visit's entries: in a customer's feed one for each of their own doors, elsewhere one for the trip.
func visitEvents(v desk.VisitView, w wording.Words, head desk.FeedHead) (all []calendar.Event) {
	if head.Feed.Scope.Kind != vent.KindCustomer {
		e := timed(v, vent.Unit{}, v.Visit.Start, v.Visit.Minutes, v.Visit.State, w)
		e.UID, e.Sequence = v.Visit.UID, v.Visit.Sequence
		e.Created, e.Modified = v.Visit.Created.Time(), v.Visit.Modified.Time()
		return keep(all, e, v.Visit.State, v.Visit.Modified, head.Horizon)
	}
	for _, a := range v.Parts {
		if a.State == vent.Proposed {
			continue
		}
		state := a.State
		if v.Visit.State == vent.Cancelled {
			state = vent.Cancelled
		}
		e := timed(v, a.Unit, a.Start, a.Minutes, state, w)
		e.UID, e.Sequence = a.UID, a.Sequence
		e.Created, e.Modified = a.Created.Time(), a.Modified.Time()
		all = keep(all, e, state, a.Modified, head.Horizon)
	}
	return all
}

// timed is an entry at a visit's site, for one door of it where one is given.
func timed(v desk.VisitView, unit vent.Unit, start, minutes int, state vent.VisitState, w wording.Words) calendar.Event {
	where := v.Site.Name
	if unit.Name != "" && unit.Name != where && unit.Kind != vent.House {
		where += ", " + unit.Name
	}
	e := calendar.Event{
		Summary: w.Say("feed.visit", "where", where), Location: v.Site.Address, Geo: geo(v.Site),
		Categories: []string{w.Say("feed.category")},
		Start:      v.Visit.On, Minute: start, Zone: v.Visit.Zone, Duration: time.Duration(minutes) * time.Minute,
	}
	if v.Visit.SiteID.IsZero() {
		e.Summary = w.Say("feed.own_time")
	}
	switch state {
	case vent.Held:
		e.Status = calendar.Tentative
		e.Summary = w.Say("feed.held", "what", e.Summary)
	case vent.Cancelled:
		e.Status, e.Transparent = calendar.Cancelled, true
		e.Summary = w.Say("feed.cancelled", "what", e.Summary)
	}
	return e
}

// keep adds an entry unless it was cancelled so long ago that it has been seen.
func keep(all []calendar.Event, e calendar.Event, state vent.VisitState, changed vent.Instant, horizon vent.Date) []calendar.Event {
	if state == vent.Cancelled && changed.DateIn(time.UTC) < horizon.AddDays(-cancelledDays) {
		return all
	}
	return append(all, e)
}

// tombstone is the one entry of a revoked address: readers that only ever replace what they have then let go of the
// old entries.
func tombstone(f vent.Feed, w wording.Words) calendar.Event {
	what := "feed.revoked"
	if !f.Replaced.IsZero() {
		what = "feed.replaced"
	}
	return calendar.Event{
		UID: f.ID.String(), Created: f.Created.Time(), Modified: f.Revoked.Time(),
		Summary: w.Say(what), Description: w.Say(what + ".about"),
		Transparent: true, AllDay: true, Start: f.Revoked.DateIn(time.UTC),
	}
}

func geo(s vent.Site) *calendar.Geo {
	if s.Lat == nil || s.Lon == nil {
		return nil
	}
	return &calendar.Geo{Lat: *s.Lat, Lon: *s.Lon}
}
