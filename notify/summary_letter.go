package notify

import (
	"cmp"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// needs counts what needs somebody.
func needs(s desk.Summary) int {
	return s.Stops.N + s.Spent.N + s.Unbooked.N + s.Unwritten.N + s.Untold.N + s.Undelivered.N
}

func summarySubject(w wording.Words, s desk.Summary) string {
	n := needs(s)
	key := "letter.sum.subject"
	switch n {
	case 0:
		key += ".none"
	case 1:
		key += ".one"
	}
	return w.Say(key, "n", strconv.Itoa(n), "date", w.Date(s.Today))
}

// summaryPage lays out what needs somebody at the office: the gravest first.
func (s Sender) summaryPage(w wording.Words, r desk.Reminder) mail.Page {
	sum := *r.Items[0].Summary
	p := mail.Page{Lang: w.Lang, Title: w.Say("letter.sum.title"), When: w.Date(sum.Today)}
	if needs(sum) == 0 {
		p.Title = w.Say("letter.sum.title.none")
	}
	due := func(v desk.DueView) string {
		line := w.Say("mail.line", "what", w.What(v.Due), "where", v.Label(), "when", when(w, v.Due, r.Today))
		return w.Say("letter.sum.call", "line", line, "customer", v.Customer.Name)
	}
	for _, b := range []mail.Block{
		listed(w, "letter.sum.stops", sum.Stops, due),
		listed(w, "letter.sum.spent", sum.Spent, due),
		listed(w, "letter.sum.unbooked", sum.Unbooked, due),
		listed(w, "letter.sum.unwritten", sum.Unwritten, func(v desk.VisitView) string {
			return w.Say("letter.line", "what", w.Say("letter.at", "date", w.Date(v.Visit.On), "time", w.Clock(v.Visit.Start)), "where", v.Site.Name)
		}),
		listed(w, "letter.sum.untold", sum.Untold, func(u desk.Untold) string {
			return w.Say("letter.sum.customer", "name", u.Customer.Name, "why", cmp.Or(u.Why, w.Say("letter.sum.no_contact")))
		}),
		listed(w, "letter.sum.undelivered", sum.Undelivered, func(m desk.UndeliveredMail) string {
			return w.Say("letter.sum.mail", "name", m.Name, "to", m.Message.To, "why", m.Message.Answer)
		}),
	} {
		p.Blocks = append(p.Blocks, b)
	}
	if sum.Held > 0 {
		p.Blocks = append(p.Blocks, mail.Block{Text: w.Say("letter.sum.held", "n", strconv.Itoa(sum.Held))})
	}
	if sum.Empty() {
		p.Blocks = append(p.Blocks, mail.Block{Text: w.Say("letter.sum.none")})
	}
	if sum.Stops.N > 0 {
		p.Blocks = append(p.Blocks, mail.Block{Heading: w.Say("mail.care"), Points: []string{w.Say("mail.stop.now")}, Caution: true})
	}
	if s.Pages != "" {
		p.Button = &mail.Button{Label: w.Say("letter.sum.button"), URL: s.Pages + "/"}
	}
	p.Footer = []string{w.Say("letter.sum.why_you", "operator", r.Operator.Name)}
	return p
}

// listed writes a list with how long it is; an empty one leaves no block.
func listed[T any](w wording.Words, key string, l desk.Lines[T], line func(T) string) (b mail.Block) {
	if l.N == 0 {
		return b
	}
	b.Heading = w.Say(key, "n", strconv.Itoa(l.N))
	for _, v := range l.First {
		b.Points = append(b.Points, line(v))
	}
	if more := l.N - len(l.First); more > 0 {
		b.Points = append(b.Points, w.Say("letter.sum.more", "n", strconv.Itoa(more)))
	}
	return b
}

// clockOf chooses how times of day are written.
func clockOf(r desk.Reminder) vent.ClockKind {
	first := r.Items[0]
	own := first.Customer.Clock
	if first.Visit != nil {
		own = first.Visit.Customer.Clock
	}
	return cmp.Or(own, r.Operator.Clock)
}
