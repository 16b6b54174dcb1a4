package notify

import (
	"slices"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
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
