package notify

import (
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// Sample gives a reminder of a kind with invented people, streets and figures: for looking at mails before anybody gets one, and for
// trying templates. The operator is real, or invented where there is none yet.
func Sample(kind vent.NoticeKind, o vent.Operator, now time.Time) desk.Reminder {
	if o.Name == "" {
		o = vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Phone: "555-0100", Units: vent.US, Zone: "America/New_York"}
	}
	zone, err := time.LoadLocation(o.Zone)
	if err != nil {
		zone = time.UTC
	}
	today := vent.InstantOf(now).DateIn(zone)
	r := desk.Reminder{Person: vent.Person{ID: vent.ID{15: 1}, Name: "Ida Lund", Email: "ida@example.com"}, Operator: o, Written: vent.InstantOf(now), Today: today}
	r.Message = vent.Message{ID: vent.ID{15: 2}, Class: desk.ClassOf(kind), Channel: vent.ByMail}
	r.Items = []desk.ReminderItem{sampleItem(kind, sampleHome(today, o.Zone), today)}
	return r
}

// sampleHome is a cleaning that is due in a week.
func sampleHome(today vent.Date, zone string) desk.ReminderItem {
	day := today.AddDays(7)
	customer := vent.Customer{ID: vent.ID{15: 3}, Name: "Ida Lund"}
	return desk.ReminderItem{Kind: vent.NoticeRunDue, Step: "7_days", Dryer: vent.Appliance{Fuel: vent.Gas}, DueView: desk.DueView{
		Due: vent.Due{ID: vent.ID{15: 4}, State: vent.DueOpen, Wanted: vent.Wanted{
			Kind: vent.DueClean, Day: day, Earliest: day.AddDays(-60), Latest: day.AddDays(30),
			Reason: vent.Reason{Bound: vent.BoundNoEvidence, Months: 12, Since: day.AddMonths(-12), Limit: vent.LimitFlow, Risk: 0.1,
				Chance: 0.08, LoadsPerWeek: 5, LoadsFrom: vent.UseDefault}}},
		Place: desk.Place{Run: vent.Run{ID: vent.ID{15: 5}, Name: vent.UsualRunName}, Unit: vent.Unit{ID: vent.ID{15: 6}, Name: "3B"},
			Site: vent.Site{ID: vent.ID{15: 7}, Name: "Maple House", Address: "12 Maple Street", Zone: zone}, Customer: customer},
	}}
}

func sampleItem(kind vent.NoticeKind, home desk.ReminderItem, today vent.Date) desk.ReminderItem {
	home.Kind = kind
	reason := &home.Due.Reason
	switch kind {
	case vent.NoticeCheckDue:
		home.Due.Kind = vent.DueCheck
		*reason = vent.Reason{Bound: vent.BoundInterval, Rule: "gas_connection", Months: 12, Since: today.AddMonths(-12)}
	case vent.NoticeFault:
		home.Due.Kind, home.Due.Severity = vent.DueFault, vent.Fix
		*reason = vent.Reason{Bound: vent.BoundCorrective, Rule: "flap_stuck", Since: today.AddDays(-3)}
	case vent.NoticeStop:
		home.Due.Kind, home.Due.Severity, home.Due.Day = vent.DueFault, vent.Stop, today
		*reason = vent.Reason{Bound: vent.BoundCorrective, Rule: "burning_reported", Since: today}
		home.Fault = vent.Fault{ID: vent.ID{15: 8}, Rule: "burning_reported", Severity: vent.Stop, State: vent.FaultOpen}
	case vent.NoticeRecord:
		return sampleRecord(home, today)
	case vent.NoticeSummary:
		return sampleSummary(home, today)
	case vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled, vent.NoticeVisitSoon, vent.NoticeEntry:
		return sampleVisit(kind, home, today)
	}
	return home
}

func sampleVisit(kind vent.NoticeKind, home desk.ReminderItem, today vent.Date) desk.ReminderItem {
	const start, minutes = 14*60 + 30, 60
	on := today.AddDays(9)
	if kind == vent.NoticeVisitSoon {
		on = today.AddDays(1)
	}
	written := vent.InstantOf(today.At(9*60, time.UTC))
	v := &desk.VisitItem{
		Visit: vent.Visit{ID: vent.ID{15: 9}, On: on, Start: start, Minutes: minutes, Zone: home.Site.Zone, State: vent.Booked, UID: "sample-visit", Created: written, Modified: written},
		Part:  vent.Appointment{ID: vent.ID{15: 10}, Start: start, Minutes: minutes, State: vent.Booked, UID: "sample-appointment", Created: written, Modified: written},
		Site:  home.Site, Unit: home.Unit, Customer: home.Customer, Technician: "Tom Reed", Work: []desk.DueView{home.DueView},
		Said: vent.Notice{Day: on.AddDays(2), Start: 9 * 60}, Occupant: kind == vent.NoticeEntry,
	}
	if kind == vent.NoticeVisitCancelled {
		v.Visit.State, v.Part.State = vent.Cancelled, vent.Cancelled
	}
	return desk.ReminderItem{Kind: kind, Step: vent.Step(kind), Visit: v}
}

func sampleRecord(home desk.ReminderItem, today vent.Date) desk.ReminderItem {
	home.Due.Day = today.AddMonths(12)
	f := vent.Finding{ID: vent.ID{15: 11}, RunID: home.Run.ID, Date: today, Outcome: vent.Full, Reach: vent.ReachThrough, LintBefore: vent.Mat, LintAfter: vent.Bare,
		After: []vent.Reading{{Quantity: vent.AirSpeed, Value: 7.6}}, By: vent.Doer{Kind: vent.ByUs}}
	return desk.ReminderItem{Kind: vent.NoticeRecord, Step: "recorded", Dryer: home.Dryer, Record: &desk.RecordItem{Finding: f, Place: home.Place,
		Dues: []vent.Due{home.Due}, Faults: []vent.Fault{{Rule: "foil_transition", State: vent.FaultOpen, Severity: vent.Fix}}}}
}

func sampleSummary(home desk.ReminderItem, today vent.Date) desk.ReminderItem {
	late := home.DueView
	late.Due.Day = today.AddDays(-20)
	s := &desk.Summary{Today: today,
		Spent:     desk.Lines[desk.DueView]{First: []desk.DueView{late}, N: 1},
		Unbooked:  desk.Lines[desk.DueView]{First: []desk.DueView{home.DueView}, N: 1},
		Unwritten: desk.Lines[desk.VisitView]{First: []desk.VisitView{{Visit: vent.Visit{On: today.AddDays(-1), Start: 10 * 60}, Site: home.Site}}, N: 1},
		Undelivered: desk.Lines[desk.UndeliveredMail]{First: []desk.UndeliveredMail{
			{Message: vent.Message{To: "per@example.com", Answer: "550 no such mailbox"}, Name: "Per Berg"}}, N: 1}}
	return desk.ReminderItem{Kind: vent.NoticeSummary, Step: "summary", Summary: s}
}
