package notify

import (
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	netmail "net/mail"
	"slices"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// How much of a long list a person reads: the first in full, more in a line each, the rest as a number.
const (
	itemsInFull  = 8
	itemsInLines = 100
)

// Sender is who reminders come from.
type Sender struct {
	From    netmail.Address
	ReplyTo netmail.Address  // zero: From
	Pages   string           // public address of the pages; "" where there is none
	Choices desk.ChoiceLinks // leads to the page on which a person chooses; used where there are Pages
	Signs   desk.SignLinks   // leads to the form by which somebody tells what they noticed; used where there are Pages
	Acks    desk.AckLinks    // leads to the page by which somebody says that they know of a stop; used where there are Pages
	// Bookings leads to the page on which somebody books, moves and calls off visits; used where there are Pages.
	Bookings desk.BookingLinks
	Records  desk.RecordLinks // leads to the record of a visit; used where there are Pages
	Signer   *mail.Signer     // nil: not signed
	// Templates are the operator's own words; the zero value has none.
	Templates Templates
	// Return is the bare address that bounces go to; "" is From. Returns makes the mark in it that names the message.
	Return  string
	Returns desk.ReturnMarks
	// OneReturn is for servers that take mail from the address From alone: a bounce then does not name its message.
	OneReturn bool
}

// Check says what is wrong with the sender, so that it is seen at start and not at the first mail.
func (s Sender) Check() error {
	to := netmail.Address{Address: "somebody@example.com"}
	sample := desk.Reminder{Person: vent.Person{Name: "Somebody", Email: to.Address}, Written: 1, Items: make([]desk.ReminderItem, 1)}
	sample.Message.ID[0] = 1
	if _, err := s.Compose(sample); err != nil {
		return fmt.Errorf("write a mail from %s: %w", s.From.Address, err)
	}
	return nil
}

// Compose writes a reminder as a letter. It has no clock and no chance in it: the same reminder gives the same letter
// (but for a signature's own time), so that it can be shown what was decided.
func (s Sender) Compose(r desk.Reminder) (desk.Letter, error) {
	l, err := s.letter(r)
	if err != nil {
		return desk.Letter{}, err
	}
	return s.seal(l)
}

func (s Sender) seal(l mail.Letter) (desk.Letter, error) {
	job, err := mail.Seal(l, s.Signer)
	if err != nil {
		return desk.Letter{}, err
	}
	return desk.Letter{MailID: l.MessageID, Thread: l.ThreadRoot, Raw: job.Raw}, nil
}

// letter writes a reminder, before it is an Internet message.
func (s Sender) letter(r desk.Reminder) (mail.Letter, error) {
	if len(r.Items) == 0 {
		return mail.Letter{}, fmt.Errorf("write a reminder: nothing is to be told: %w", vent.ErrInvalid)
	}
	r.Items = slices.Clone(r.Items)
	slices.SortStableFunc(r.Items, func(a, b desk.ReminderItem) int {
		return cmp.Or(cmp.Compare(urgency(a.Due), urgency(b.Due)), cmp.Compare(a.Day(), b.Day()))
	})
	w := wordsFor(r)
	page := s.pageFor(w, r)
	subject := s.dress(w, r, &page)
	files, err := visitFile(w, r)
	if err != nil {
		return mail.Letter{}, err
	}
	links, oneClick := s.choices(w, r)
	page.Links = slices.Concat(s.signs(w, r), s.records(w, r), links)
	for _, b := range []*mail.Button{s.book(w, r), s.acknowledge(w, r), s.record(w, r)} {
		if b != nil {
			page.Button = b
		}
	}
	text, html, err := mail.Layout(page)
	return mail.Letter{
		MessageID: s.messageID(r), ThreadRoot: s.thread(r),
		From: s.From, ReplyTo: s.ReplyTo, To: netmail.Address{Name: r.Person.Name, Address: r.Person.Email},
		Return: s.Return, EnvelopeID: s.envelopeID(r.Message.ID),
		Subject: subject, Lang: w.Lang, Text: text, HTML: html, Date: r.Written.Time(), Unsubscribe: oneClick, Attachments: files,
	}, err
}

// urgency puts what must stop before everything else.
func urgency(d vent.Due) int {
	if d.Severity == vent.Stop {
		return 0
	}
	return 1
}

// wordsFor chooses the person's language, and the units of the customer whose dues these are.
func wordsFor(r desk.Reminder) wording.Words {
	first := r.Items[0]
	own := first.Customer.Units
	switch {
	case first.Visit != nil:
		own = first.Visit.Customer.Units
	case first.Record != nil:
		own = first.Record.Customer.Units
	}
	return wording.For(cmp.Or(r.Person.Language, r.Operator.Language), cmp.Or(own, r.Operator.Units)).By(clockOf(r))
}

// messageID stays the same while a message says the same things of the same days, however often it is tried, and is a new
// one when they change (RFC 5322 section 3.6.4).
func (s Sender) messageID(r desk.Reminder) string {
	h := sha256.New()
	fmt.Fprintf(h, "message %s", r.Message.ID)
	for _, it := range r.Items {
		switch {
		case it.Visit != nil:
			fmt.Fprintf(h, " %s %s %s %d", it.Visit.Part.ID, it.Step, it.Visit.Visit.On, it.Visit.Part.Start)
		case it.Record != nil:
			fmt.Fprintf(h, " %s %s", it.Record.Finding.ID, it.Step)
		default:
			fmt.Fprintf(h, " %s %s %s", it.Due.ID, it.Step, it.Day())
		}
	}
	return s.mailID(h.Sum(nil))
}

// thread gives the root that letters about the same thing refer to: a mail about one due joins that due's thread. A mail
// about several things has none.
func (s Sender) thread(r desk.Reminder) string {
	if len(r.Items) != 1 {
		return ""
	}
	it := r.Items[0]
	root := fmt.Appendf(nil, "due %s %d", it.Due.ID, it.Due.Arm)
	switch {
	case it.Visit != nil:
		root = fmt.Appendf(nil, "appointment %s", it.Visit.Part.ID)
	case it.Record != nil, it.Summary != nil:
		return ""
	}
	sum := sha256.Sum256(root)
	return s.mailID(sum[:])
}

// mailID makes an id that tells nothing of the records it stands for.
func (s Sender) mailID(sum []byte) string {
	_, domain, _ := strings.Cut(s.From.Address, "@")
	return base64.RawURLEncoding.EncodeToString(sum[:18]) + "@" + domain
}

// envelopeID is what a bounce names its message by.
func (s Sender) envelopeID(message vent.ID) string {
	switch {
	case s.OneReturn:
		return ""
	case s.Returns.Ready():
		return s.Returns.Mark(message)
	}
	return message.String()
}

// pageFor lays out a letter by what it tells.
func (s Sender) pageFor(w wording.Words, r desk.Reminder) mail.Page {
	first := r.Items[0]
	switch {
	case first.Summary != nil:
		return s.summaryPage(w, r)
	case first.Record != nil:
		return recordPage(w, r)
	case first.Visit != nil && !slices.ContainsFunc(r.Items, func(it desk.ReminderItem) bool { return it.Visit == nil }):
		return visitPage(w, r)
	}
	return s.page(w, r)
}

// subject puts the action and the date first.
func subject(w wording.Words, r desk.Reminder) string {
	one := subjectOf(w, r.Items[0], r.Today)
	if n := len(r.Items); n > 1 {
		return w.Say("mail.subject.more", "first", one, "n", fmt.Sprint(n-1))
	}
	return one
}

func subjectOf(w wording.Words, it desk.ReminderItem, today vent.Date) string {
	switch {
	case it.Visit != nil:
		return visitSubject(w, it, today)
	case it.Record != nil:
		return recordSubject(w, it)
	case it.Summary != nil:
		return summarySubject(w, *it.Summary)
	}
	return w.Say("mail.subject."+tense(it.Due, today), "what", w.What(it.Due), "date", w.Date(it.Due.Day), "where", it.Label())
}

// tense chooses words: coming, today, late, or never known to be cleaned.
func tense(d vent.Due, today vent.Date) string {
	switch {
	case d.Severity == vent.Stop:
		return "stop"
	case d.Unknown:
		return "unknown"
	case d.Day < today:
		return "late"
	case d.Day == today:
		return "today"
	}
	return "coming"
}

func (s Sender) page(w wording.Words, r desk.Reminder) mail.Page {
	first := r.Items[0]
	p := mail.Page{Lang: w.Lang, Title: w.What(first.Due),
		When: w.Say("mail.top."+tense(first.Due, r.Today), "date", w.Date(first.Due.Day), "away", w.Away(first.Due.Day, r.Today),
			"where", first.Label())}
	n := len(r.Items)
	switch {
	case first.Due.Severity == vent.Stop:
		p.Title = w.Say("mail.title.stop")
	case n > 1 && first.Visit != nil:
		p.Title, p.When = w.Say("mail.title.more", "n", fmt.Sprint(n)), w.Say("mail.top.more", "when", visitSubject(w, first, r.Today))
	case n > 1:
		p.Title, p.When = w.Say("mail.title.more", "n", fmt.Sprint(n)), w.Say("mail.top.more", "when", when(w, first.Due, r.Today))
	}
	for _, it := range r.Items[:min(n, itemsInFull)] {
		p.Blocks = append(p.Blocks, itemBlocks(w, it, r)...)
	}
	if n > itemsInFull {
		p.Blocks = append(p.Blocks, restBlock(w, r.Items[itemsInFull:], r.Today))
	}
	p.Blocks = append(p.Blocks,
		mail.Block{Heading: w.Say("mail.care"), Points: cautions(w, r.Items), Caution: true},
		mail.Block{Text: contact(w, r)})
	if s.Pages != "" && first.Visit == nil && r.Operator.Kind != vent.Customers { // a business's customers have no account
		p.Button = &mail.Button{Label: w.Say("mail.button"), URL: s.Pages + pageOf(first.DueView)}
	}
	p.Footer = []string{whyYou(w, r)}
	return p
}

// itemBlocks say what, when, where and why. A mail about one thing says what and when on top.
func itemBlocks(w wording.Words, it desk.ReminderItem, r desk.Reminder) []mail.Block {
	if it.Visit != nil {
		return visitBlocks(w, it, r)
	}
	place := mail.Block{Facts: []mail.Fact{{Label: w.Say("mail.where"), Value: it.Label()}}}
	if it.Site.Address != "" && it.Site.Address != it.Site.Name {
		place.Facts = append(place.Facts, mail.Fact{Label: w.Say("mail.address"), Value: it.Site.Address})
	}
	if len(r.Items) == 1 {
		return []mail.Block{place, {Heading: w.Say("mail.why"), Points: points(w, it)}}
	}
	place.Heading, place.Points = w.Say("mail.item", "what", w.What(it.Due), "when", when(w, it.Due, r.Today)), points(w, it)
	if it.Due.Severity == vent.Stop {
		place.Heading = w.Say("mail.title.stop")
	}
	return []mail.Block{place}
}

// points say why; of recurring checks also behind which doors.
func points(w wording.Words, it desk.ReminderItem) []string {
	return append(w.Why(it.Due), w.CheckDoors(it.DueView)...)
}

// checked gives the items that ask for recurring checks, whose cautions are their own, and whether there are others.
func checked(items []desk.ReminderItem) (checks []string, others []desk.ReminderItem) {
	for _, it := range items {
		if it.Due.Kind == vent.DueCheck {
			checks = append(checks, wording.ChecksOf(it.Due)...)
		} else {
			others = append(others, it)
		}
	}
	return checks, others
}

// restBlock lists what is too much to be told in full.
func restBlock(w wording.Words, rest []desk.ReminderItem, today vent.Date) mail.Block {
	b := mail.Block{Heading: w.Say("mail.rest", "n", fmt.Sprint(len(rest)))}
	for _, it := range rest[:min(len(rest), itemsInLines)] {
		b.Points = append(b.Points, itemLine(w, it, today))
	}
	if cut := len(rest) - itemsInLines; cut > 0 {
		b.Points = append(b.Points, w.Say("mail.rest.cut", "n", fmt.Sprint(cut)))
	}
	return b
}

func itemLine(w wording.Words, it desk.ReminderItem, today vent.Date) string {
	if it.Visit != nil {
		return visitSubject(w, it, today)
	}
	return w.Say("mail.line", "what", w.What(it.Due), "where", it.Label(), "when", when(w, it.Due, today))
}

func when(w wording.Words, d vent.Due, today vent.Date) string {
	if d.Unknown {
		return w.Say("mail.when.unknown")
	}
	return w.Say("mail.when", "date", w.Date(d.Day), "away", w.Away(d.Day, today))
}

// cautions are for whoever reads the mail: somebody who lives with the dryer, not who opens it. Those of gas stand where
// one dryer burns gas or nobody knows.
func cautions(w wording.Words, items []desk.ReminderItem) (all []string) {
	checks, items := checked(items)
	if len(items) == 0 {
		return append(w.CheckCautions(checks...), w.Say("caution.smell"), w.Say("caution.codes"))
	}
	gas := slices.ContainsFunc(items, func(it desk.ReminderItem) bool {
		return it.Visit == nil && (it.Dryer.Fuel == vent.Gas || it.Dryer.Fuel == "")
	})
	if items[0].Due.Severity == vent.Stop {
		all = append(all, w.Say("mail.stop.now"))
	}
	all = append(all, w.Say("caution.smell"))
	if gas {
		all = append(all, w.Say("caution.co"))
	}
	all = append(all, w.Say("caution.power"))
	if gas {
		all = append(all, w.Say("caution.gas"))
	}
	for _, c := range w.CheckCautions(checks...) {
		if !slices.Contains(all, c) {
			all = append(all, c)
		}
	}
	return append(all, w.Say("caution.codes"))
}

// contact says what to do next. A household writes to itself.
func contact(w wording.Words, r desk.Reminder) string {
	key, o := "mail.contact", r.Operator
	if r.Stop() {
		key = "mail.contact.stop"
	}
	switch {
	case o.Kind == vent.Household:
		return w.Say(key + ".self")
	case o.Phone != "":
		return w.Say(key+".phone", "operator", o.Name, "phone", o.Phone)
	}
	return w.Say(key, "operator", o.Name)
}

func whyYou(w wording.Words, r desk.Reminder) string {
	if r.Stop() {
		return w.Say("mail.why_you.stop", "operator", r.Operator.Name, "name", r.Person.Name)
	}
	if r.Operator.Kind == vent.Household {
		return w.Say("mail.why_you.self", "name", r.Person.Name)
	}
	return w.Say("mail.why_you", "operator", r.Operator.Name, "name", r.Person.Name)
}
