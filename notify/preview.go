package notify

import (
	"fmt"
	"slices"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// Preview is a mail that is only looked at.
type Preview struct {
	To       string `json:"to"`
	Language string `json:"language"`
	Subject  string `json:"subject"`
	Text     string `json:"text"`
	HTML     string `json:"html"`
	Raw      []byte `json:"raw"` // whole, as it would go out
	// Invented says that what it tells of is made up.
	Invented bool `json:"invented"`
}

// previewTo takes the place of an address that is not known.
const previewTo = "nobody@preview.invalid"

// PreviewOf writes the mail of a kind, in a language ("" is the person's, else the operator's), with a customer's own data where
// they are given and have such a thing, else with a sample's. Every link in it is dead.
func (s Sender) PreviewOf(kind vent.NoticeKind, lang string, o vent.Operator, x *desk.Example, now time.Time) (Preview, error) {
	if !slices.Contains(vent.NoticeKinds(), kind) {
		return Preview{}, fmt.Errorf("there is no mail of kind %q: %w", kind, vent.ErrInvalid)
	}
	r := Sample(kind, o, now)
	p := Preview{Invented: true}
	if x != nil {
		p.Invented = !useExample(&r, kind, *x)
	}
	if lang != "" {
		r.Person.Language = lang
	}
	dead := desk.DeadLinks()
	s.Choices, s.Signs, s.Acks, s.Bookings, s.Records = dead.Choices, dead.Signs, dead.Acks, dead.Bookings, dead.Records
	l, err := s.letter(r)
	if err != nil {
		return Preview{}, err
	}
	sealed, err := s.seal(l)
	p.To, p.Language, p.Subject, p.Text, p.HTML, p.Raw = r.Person.Email, l.Lang, l.Subject, l.Text, l.HTML, sealed.Raw
	return p, err
}

// useExample puts a customer's own data into a sample, and reports whether what it tells of is theirs too. Where they have no such
// thing it is told of their own first run.
func useExample(r *desk.Reminder, kind vent.NoticeKind, x desk.Example) (own bool) {
	if kind == vent.NoticeSummary { // it goes to the office
		return false
	}
	if x.Person.Name != "" {
		r.Person = x.Person
	}
	if r.Person.Email == "" {
		r.Person.Email = previewTo
	}
	if it, has := x.Items[kind]; has {
		if kind == vent.NoticeVisitCancelled {
			it.Visit.Visit.State, it.Visit.Part.State = vent.Cancelled, vent.Cancelled
		}
		if kind == vent.NoticeStop {
			it.Fault = r.Items[0].Fault
		}
		r.Items[0] = it
		return true
	}
	if x.Place.Run.ID.IsZero() {
		return false
	}
	switch it := &r.Items[0]; {
	case it.Visit != nil:
		it.Visit.Site, it.Visit.Unit, it.Visit.Customer = x.Place.Site, x.Place.Unit, x.Customer
		for i := range it.Visit.Work {
			it.Visit.Work[i].Place = x.Place
		}
	case it.Record != nil:
		it.Record.Place, it.Dryer = x.Place, x.Dryer
	default:
		it.Place, it.Dryer = x.Place, x.Dryer
	}
	return false
}
