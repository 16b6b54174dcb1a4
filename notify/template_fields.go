package notify

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// TemplateFields are what an operator's template can say, in the reader's language. What does not concern the mail is "". Of a mail
// about several things they are those of the first.
type TemplateFields struct {
	Name       string // of who gets the mail
	Operator   string // who sends it
	Phone      string // of the operator
	Customer   string // whose dryer it is
	What       string // what is to be done
	Where      string // building, unit and run, as short as can be
	Address    string // of the building
	Date       string // when it is due, when the visit is, when it was done
	Time       string // when the visit begins
	Away       string // how far off the date is
	State      string // of what is due: coming, today, late or unknown (never known to be cleaned)
	Was        string // when a visit was to be before it moved
	Technician string // who comes
	Outcome    string // of a visit that was written down
	More       string // how many more things the mail tells of; "" for none
	Subject    string // the built-in subject
	Title      string // the built-in title
}

// fieldsOf fills the fields for a mail.
func fieldsOf(w wording.Words, r desk.Reminder, subject, title string) TemplateFields {
	it := r.Items[0]
	f := TemplateFields{Name: r.Person.Name, Operator: r.Operator.Name, Phone: r.Operator.Phone, Subject: subject, Title: title}
	if n := len(r.Items); n > 1 {
		f.More = strconv.Itoa(n - 1)
	}
	day := func(d vent.Date) { f.Date, f.Away = w.Date(d), w.Away(d, r.Today) }
	switch {
	case it.Visit != nil:
		v := it.Visit
		day(v.Visit.On)
		f.Customer, f.Where, f.Address, f.Technician, f.Time = v.Customer.Name, visitWhere(v), v.Site.Address, v.Technician, w.Clock(v.Part.Start)
		if it.Kind == vent.NoticeVisitMoved {
			f.Was = w.Say("letter.at", "date", w.Date(v.Said.Day), "time", w.Clock(v.Said.Start))
		}
	case it.Record != nil:
		x := it.Record
		day(x.Finding.Date)
		f.Customer, f.Where, f.Address = x.Customer.Name, x.Label(), x.Site.Address
		f.Outcome = upperFirst(w.Say("page.outcome." + string(x.Finding.Outcome)))
	case it.Summary != nil:
		day(it.Summary.Today)
	default:
		day(it.Due.Day)
		f.Customer, f.Where, f.Address, f.What, f.State = it.Customer.Name, it.Label(), it.Site.Address, w.What(it.Due), tense(it.Due, r.Today)
	}
	return f.short()
}

// short cuts what is longer than a field may be.
func (f TemplateFields) short() TemplateFields {
	for _, s := range []*string{&f.Name, &f.Operator, &f.Phone, &f.Customer, &f.What, &f.Where, &f.Address, &f.Technician, &f.Outcome} {
		if runes := []rune(*s); len(runes) > maxField {
			*s = string(runes[:maxField-1]) + "…"
		}
	}
	return f
}

// sampleFields are those of the sample of a kind.
func sampleFields(name templateName) TemplateFields {
	r := Sample(name.kind, vent.Operator{}, time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC))
	r.Person.Language = name.lang
	w := wordsFor(r)
	return fieldsOf(w, r, subject(w, r), Sender{}.pageFor(w, r).Title)
}

// dress puts an operator's own words into a mail, and gives its subject.
func (s Sender) dress(w wording.Words, r desk.Reminder, p *mail.Page) string {
	first, built := r.Items[0], subject(w, r)
	kind := first.Kind
	if kind == "" {
		kind = vent.NoticeKindOf(first.Due)
	}
	if first.Due.Severity == vent.Stop { // also a sign of burning: its subject and title are cautions themselves
		kind = vent.NoticeStop
	}
	if _, own := s.Templates.by[templateName{kind, w.Lang}]; !own {
		return built
	}
	f := fieldsOf(w, r, subjectOf(w, first, r.Today), p.Title)
	words := func(part string) string { return s.Templates.words(kind, w.Lang, part, f) }
	if own := words(partTitle); own != "" && len(r.Items) == 1 {
		p.Title = own
	}
	var intro []mail.Block
	for _, t := range paragraphs(words(partIntro)) {
		intro = append(intro, mail.Block{Text: t})
	}
	p.Blocks = slices.Concat(intro, p.Blocks)
	for _, t := range paragraphs(words(partClosing)) {
		p.Blocks = append(p.Blocks, mail.Block{Text: t})
	}
	own := words(partSubject)
	switch {
	case own == "":
		return built
	case len(r.Items) > 1:
		return w.Say("mail.subject.more", "first", own, "n", strconv.Itoa(len(r.Items)-1))
	}
	return own
}

// BuiltIn gives the built-in words of a kind as a template, to begin one's own with; taken as it is, mails stay as they are.
func BuiltIn(kind vent.NoticeKind, lang string) (string, error) {
	if !slices.Contains(vent.NoticeKinds(), kind) {
		return "", fmt.Errorf("there is no mail of kind %q: %w", kind, vent.ErrInvalid)
	}
	w := wording.For(lang, vent.US)
	var b strings.Builder
	fmt.Fprintf(&b, "{{/* Save as %s.%s%s in the folder that mail.templates names. Below the intro and above the closing stand date, place, why and\ncautions as always.", kind, w.Lang, templateEnd)
	fmt.Fprintf(&b, " Paragraphs are divided by a blank line; a part that is left out or empty is the built-in one.\nFields: %s */}}\n", strings.Join(fieldNames(), " "))
	for _, part := range partsOf(kind) {
		fmt.Fprintf(&b, "{{define %q}}%s{{end}}\n", part, builtPart(w, kind, part))
	}
	return b.String(), nil
}

// asFields are a catalogue's blanks as a template's.
var asFields = []string{"what", "{{.What}}", "where", "{{.Where}}", "date", "{{.Date}}", "time", "{{.Time}}", "away", "{{.Away}}", "outcome", "{{.Outcome}}"}

func builtPart(w wording.Words, kind vent.NoticeKind, part string) string {
	visit := strings.HasPrefix(string(kind), "visit_") || kind == vent.NoticeEntry
	switch {
	case part == partSubject && visit:
		return w.Say("letter.subject."+string(kind), asFields...)
	case part == partTitle && visit:
		return w.Say("letter.title." + string(kind))
	case part == partSubject && kind == vent.NoticeRecord:
		return w.Say("letter.record.subject", asFields...)
	case part == partTitle && kind == vent.NoticeRecord:
		return w.Say("letter.record.title")
	case part == partSubject && kind == vent.NoticeSummary:
		return "{{.Subject}}"
	case part == partTitle && kind == vent.NoticeSummary:
		return "{{.Title}}"
	case part == partSubject:
		return fmt.Sprintf(`{{if eq .State "late"}}%s{{else if eq .State "today"}}%s{{else if eq .State "unknown"}}%s{{else}}%s{{end}}`,
			w.Say("mail.subject.late", asFields...), w.Say("mail.subject.today", asFields...), w.Say("mail.subject.unknown", asFields...), w.Say("mail.subject.coming", asFields...))
	case part == partTitle:
		return "{{.What}}"
	}
	return ""
}
