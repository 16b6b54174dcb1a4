package notify

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/calendar"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// visitSubject puts what happened and when first.
func visitSubject(w wording.Words, it desk.ReminderItem, today vent.Date) string {
	v := it.Visit
	return w.Say("letter.subject."+string(it.Kind), "date", w.Date(v.Visit.On), "time", w.Clock(v.Part.Start), "away", w.Away(v.Visit.On, today), "where", visitWhere(v))
}

// visitTop says when, and when it was to be before it moved.
func visitTop(w wording.Words, it desk.ReminderItem, today vent.Date) string {
	key := "letter.top"
	if it.Kind == vent.NoticeVisitMoved || it.Kind == vent.NoticeVisitCancelled {
		key += "." + string(it.Kind)
	}
	v := it.Visit
	return w.Say(key, "date", w.Date(v.Visit.On), "time", w.Clock(v.Part.Start), "away", w.Away(v.Visit.On, today),
		"was", w.Say("letter.at", "date", w.Date(v.Said.Day), "time", w.Clock(v.Said.Start)))
}

func visitWhere(v *desk.VisitItem) string {
	return desk.Place{Site: v.Site, Unit: v.Unit, Run: vent.Run{Name: vent.UsualRunName}}.Label()
}

// visitPage lays out what happened to visits: agreed, moved, cancelled, or an entry.
func visitPage(w wording.Words, r desk.Reminder) mail.Page {
	first := r.Items[0]
	p := mail.Page{Lang: w.Lang, Title: w.Say("letter.title." + string(first.Kind)), When: visitTop(w, first, r.Today)}
	if n := len(r.Items); n > 1 {
		p.Title, p.When = w.Say("letter.title.more", "n", strconv.Itoa(n)), w.Say("letter.top.more", "when", visitSubject(w, first, r.Today))
	}
	for _, it := range r.Items[:min(len(r.Items), itemsInFull)] {
		p.Blocks = append(p.Blocks, visitBlocks(w, it, r)...)
	}
	if rest := r.Items[min(len(r.Items), itemsInFull):]; len(rest) > 0 {
		b := mail.Block{Heading: w.Say("mail.rest", "n", fmt.Sprint(len(rest)))}
		for _, it := range rest[:min(len(rest), itemsInLines)] {
			b.Points = append(b.Points, visitSubject(w, it, r.Today))
		}
		if cut := len(rest) - itemsInLines; cut > 0 {
			b.Points = append(b.Points, w.Say("mail.rest.cut", "n", fmt.Sprint(cut)))
		}
		p.Blocks = append(p.Blocks, b)
	}
	if goes(r.Items) {
		p.Blocks = append(p.Blocks, mail.Block{Heading: w.Say("letter.ready"), Points: visitCautions(w, r.Items), Caution: true})
	}
	p.Blocks = append(p.Blocks, mail.Block{Text: visitContact(w, r)})
	p.Footer = []string{w.Say("letter.why_you", "operator", r.Operator.Name, "name", r.Person.Name)}
	return p
}

// goes reports whether somebody comes by one of the items.
func goes(items []desk.ReminderItem) bool {
	return slices.ContainsFunc(items, func(it desk.ReminderItem) bool { return it.Visit != nil && it.Kind != vent.NoticeVisitCancelled })
}

// visitBlocks say where, who, how long, what is done and why the mail came.
func visitBlocks(w wording.Words, it desk.ReminderItem, r desk.Reminder) []mail.Block {
	v := it.Visit
	b := mail.Block{Facts: []mail.Fact{{Label: w.Say("mail.where"), Value: visitWhere(v)}}}
	if len(r.Items) > 1 {
		b.Heading = visitSubject(w, it, r.Today)
	}
	if v.Site.Address != "" && v.Site.Address != v.Site.Name {
		b.Facts = append(b.Facts, mail.Fact{Label: w.Say("mail.address"), Value: v.Site.Address})
	}
	if it.Kind != vent.NoticeVisitCancelled {
		b.Facts = append(b.Facts, mail.Fact{Label: w.Say("letter.who"), Value: cmp.Or(v.Technician, r.Operator.Name)},
			mail.Fact{Label: w.Say("letter.long"), Value: w.Say("letter.minutes", "n", strconv.Itoa(v.Part.Minutes))})
	}
	work := mail.Block{Heading: w.Say("letter.work")}
	for _, d := range v.Work[:min(len(v.Work), itemsInFull)] {
		work.Points = append(work.Points, w.Say("letter.line", "what", w.What(d.Due), "where", d.Label()))
	}
	why := mail.Block{Heading: w.Say("mail.why"), Points: []string{w.Say("letter.why."+string(it.Kind), "customer", v.Customer.Name)}}
	if it.Kind == vent.NoticeEntry {
		why.Points = append(why.Points, w.Say("letter.law"))
	}
	switch {
	case !carriesCalendar(it):
	case it.Kind == vent.NoticeVisitCancelled:
		why.Points = append(why.Points, w.Say("letter.calendar.gone"))
	default:
		why.Points = append(why.Points, w.Say("letter.calendar"))
	}
	if len(work.Points) == 0 {
		return []mail.Block{b, why}
	}
	return []mail.Block{b, work, why}
}

// visitCautions are for whoever lets somebody in.
func visitCautions(w wording.Words, _ []desk.ReminderItem) []string {
	return []string{w.Say("letter.ready.open"), w.Say("letter.ready.cold"), w.Say("caution.smell"), w.Say("caution.codes")}
}

func visitContact(w wording.Words, r desk.Reminder) string {
	key, o := "letter.contact", r.Operator
	switch {
	case o.Kind == vent.Household:
		return w.Say(key + ".self")
	case o.Phone != "":
		return w.Say(key+".phone", "operator", o.Name, "phone", o.Phone)
	}
	return w.Say(key, "operator", o.Name)
}

// carriesCalendar reports whether the mail brings the visit for the reader's calendar: not where a calendar of theirs shows it
// already.
func carriesCalendar(it desk.ReminderItem) bool {
	switch it.Kind {
	case vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled:
		return !it.Visit.InCalendar && !it.Visit.Occupant
	}
	return false
}

// visitFile gives the visits of a mail as a calendar file, with the UID and SEQUENCE of the feeds, so that a reader who later
// subscribes does not see them twice; nil where none is to be sent.
func visitFile(w wording.Words, r desk.Reminder) ([]mail.Attachment, error) {
	c := calendar.Calendar{Zone: "UTC"}
	for _, it := range r.Items {
		if it.Visit == nil || !carriesCalendar(it) {
			continue
		}
		v := it.Visit
		state := vent.Booked
		if it.Kind == vent.NoticeVisitCancelled {
			state = vent.Cancelled
		}
		e := timed(desk.VisitView{Visit: v.Visit, Site: v.Site}, v.Unit, v.Part.Start, v.Part.Minutes, state, w)
		e.UID, e.Sequence, e.Created, e.Modified = v.Part.UID, v.Part.Sequence, v.Part.Created.Time(), v.Part.Modified.Time()
		c.Events, c.Anchor, c.Zone = append(c.Events, e), v.Visit.On, v.Visit.Zone
	}
	if len(c.Events) == 0 {
		return nil, nil
	}
	out, err := calendar.Render(c)
	if err != nil {
		return nil, fmt.Errorf("write visit.ics: %w", err)
	}
	return []mail.Attachment{{Name: "visit.ics", ContentType: "text/calendar; charset=utf-8", Data: out.Body}}, nil
}
