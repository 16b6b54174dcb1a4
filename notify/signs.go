package notify

import (
	"slices"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/scheduler/cadence"
	"ventdue/vent"
)

// signs gives the links by which whoever reads the mail tells what they noticed at a dryer: one for each run that is told in
// full. Of several stops those after the first are acknowledged by a link of their own.
func (s Sender) signs(w wording.Words, r desk.Reminder) (links []mail.Button) {
	if s.Pages == "" || !s.Signs.Ready() {
		return nil
	}
	var told []vent.ID
	for i, it := range r.Items[:min(len(r.Items), itemsInFull)] {
		if i > 0 && it.Due.Severity == vent.Stop && s.Acks.Ready() && !it.Fault.ID.IsZero() {
			links = append(links, mail.Button{Label: w.Say("mail.ack.at", "where", it.Label()), URL: s.Pages + s.Acks.Path(it.Fault, r.Person)})
		}
		if it.Run.ID.IsZero() || slices.Contains(told, it.Run.ID) {
			continue
		}
		told = append(told, it.Run.ID)
		label := w.Say("mail.sign")
		if len(r.Items) > 1 {
			label = w.Say("mail.sign.at", "where", it.Label())
		}
		links = append(links, mail.Button{Label: label, URL: s.Pages + s.Signs.Path(it.Run.ID)})
	}
	return links
}

// acknowledge gives the button of a stop's mail: it leads to the page on which the person says that they know. nil for other
// mails.
func (s Sender) acknowledge(w wording.Words, r desk.Reminder) *mail.Button {
	first := r.Items[0]
	if first.Due.Severity != vent.Stop || first.Fault.ID.IsZero() || s.Pages == "" || !s.Acks.Ready() {
		return nil
	}
	return &mail.Button{Label: w.Say("mail.ack"), URL: s.Pages + s.Acks.Path(first.Fault, r.Person)}
}

// book gives the button that leads to where a visit is booked, or moved and called off: in a business's mails about what somebody has
// to come for, and in those about a visit, to who agreed to it. nil for others.
func (s Sender) book(w wording.Words, r desk.Reminder) *mail.Button {
	first := r.Items[0]
	if s.Pages == "" || !s.Bookings.Ready() || r.Operator.Kind != vent.Customers || r.Stop() {
		return nil
	}
	key, customer := "letter.book", first.Customer.ID
	switch v := first.Visit; {
	case v != nil && v.Occupant, v == nil && (customer.IsZero() || first.Record != nil || first.Summary != nil || !cadence.NeedsVisit(first.Due)):
		return nil
	case v != nil && first.Kind != vent.NoticeVisitCancelled:
		key, customer = "letter.rebook", v.Customer.ID
	case v != nil:
		customer = v.Customer.ID
	}
	path := s.Bookings.Path(r.Person, vent.Scope{Kind: vent.KindCustomer, ID: customer}, r.Written.DateIn(time.UTC))
	return &mail.Button{Label: w.Say(key), URL: s.Pages + path}
}
