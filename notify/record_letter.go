package notify

import (
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

func recordSubject(w wording.Words, it desk.ReminderItem) string {
	f := it.Record.Finding
	return w.Say("letter.record.subject", "outcome", upperFirst(w.Say("page.outcome."+string(f.Outcome))), "date", w.Date(f.Date), "where", it.Record.Label())
}

// upperFirst begins a text with a capital.
func upperFirst(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// recordPage lays out what was found and done, and what comes next.
func recordPage(w wording.Words, r desk.Reminder) mail.Page {
	p := mail.Page{Lang: w.Lang, Title: w.Say("letter.record.title"), When: w.Say("letter.record.top", "date", w.Date(r.Items[0].Record.Finding.Date))}
	for _, it := range r.Items[:min(len(r.Items), itemsInLines)] {
		p.Blocks = append(p.Blocks, recordBlocks(w, it)...)
	}
	p.Blocks = append(p.Blocks,
		mail.Block{Heading: w.Say("letter.record.care"), Points: []string{w.Say("caution.smell"), w.Say("caution.codes")}, Caution: true},
		mail.Block{Text: w.Say("letter.record.contact", "operator", r.Operator.Name)})
	p.Footer = []string{w.Say("letter.record.why_you", "operator", r.Operator.Name, "name", r.Person.Name)}
	return p
}

func recordBlocks(w wording.Words, it desk.ReminderItem) []mail.Block {
	x := it.Record
	f := x.Finding
	b := mail.Block{Heading: w.Say("letter.record.item", "where", x.Label(), "date", w.Date(f.Date)),
		Facts: []mail.Fact{{Label: w.Say("letter.record.outcome"), Value: w.Say("page.outcome." + string(f.Outcome))},
			{Label: w.Say("letter.record.before"), Value: state(w, f.LintBefore, f.Before)},
			{Label: w.Say("letter.record.after"), Value: state(w, f.LintAfter, f.After)}}}
	if !f.Corrects.IsZero() {
		b.Points = append(b.Points, w.Say("letter.record.corrected"))
	}
	if f.Outcome == vent.Failed {
		b.Points = append(b.Points, w.Say("letter.record.failed"))
	}
	for _, fault := range x.Faults {
		b.Points = append(b.Points, w.Say("letter.record.fault", "what", w.Rule(fault.Rule)))
	}
	for _, d := range x.Dues {
		if d.Kind == vent.DueClean || d.Kind == vent.DueLook {
			b.Points = append(b.Points, w.Say("letter.record.next", "what", w.What(d), "date", w.Date(d.Day)))
		}
	}
	if len(x.Dues) == 0 {
		b.Points = append(b.Points, w.Say("letter.record.none"))
	}
	return []mail.Block{b}
}

// state says in one line what an eye and the instruments saw; "" for nothing.
func state(w wording.Words, g vent.Grade, readings []vent.Reading) string {
	var parts []string
	if g != vent.NotGraded {
		parts = append(parts, w.Say("page.grade."+string(g)))
	}
	for _, x := range readings {
		parts = append(parts, w.Reading(x))
	}
	return strings.Join(parts, "; ")
}

// record gives the button that leads to the record of the one visit that the mail tells of; nil for other mails.
func (s Sender) record(w wording.Words, r desk.Reminder) *mail.Button {
	if len(r.Items) != 1 || r.Items[0].Record == nil || s.Pages == "" || !s.Records.Ready() {
		return nil
	}
	return &mail.Button{Label: w.Say("letter.record.button"), URL: s.recordAddress(r, r.Items[0])}
}

// records gives the links to the records of several visits.
func (s Sender) records(w wording.Words, r desk.Reminder) (links []mail.Button) {
	if len(r.Items) < 2 || s.Pages == "" || !s.Records.Ready() {
		return nil
	}
	for _, it := range r.Items[:min(len(r.Items), itemsInLines)] {
		if it.Record != nil {
			label := w.Say("letter.record.open", "date", w.Date(it.Record.Finding.Date), "where", it.Record.Label())
			links = append(links, mail.Button{Label: label, URL: s.recordAddress(r, it)})
		}
	}
	return links
}

func (s Sender) recordAddress(r desk.Reminder, it desk.ReminderItem) string {
	return s.Pages + s.Records.Path(r.Person, it.Record.Finding.ID, r.Written.DateIn(time.UTC))
}
