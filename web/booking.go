package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// bookPage is where a customer, or who lives behind a door, books, moves and calls off visits. The link in a mail leads there;
// opening it changes nothing.
type bookPage struct {
	page
	Action   string
	Place    string
	Done     string // what was just done
	Problem  string // why it was not
	Call     string
	Cutoff   string
	Sites    []bookSite // of a customer's link
	Agreed   []bookTrip
	Proposed []bookTrip
	Due      []string
	Slots    []bookSlot
	About    string // how long it takes
	Nothing  string // why no time is offered
	Moving   *bookTrip
	Wishes   []string
}

type bookSite struct{ Name, Address, Link string }

type bookTrip struct {
	ID, When, Doors, Hold, MoveLink string
	Fixed                           bool // too late to change
}

type bookSlot struct{ Value, When string }

// holder reads the link and gives its holder with the stamp under which they act.
func (s *server) holder(r *http.Request, v visitor) (desk.Booker, desk.By, error) {
	by := s.by(v)
	b, err := s.desk.Booker(by, s.booking, r.PathValue("token"))
	by.Actor = b.Actor()
	return b, by, err
}

// showBooking shows what can be booked. It changes nothing: programs follow links by themselves.
func (s *server) showBooking(w http.ResponseWriter, r *http.Request, v visitor) error {
	b, by, err := s.holder(r, v)
	if err != nil {
		return s.bookingOver(w, v, err)
	}
	p, err := s.bookPage(r, v, b, by)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "booking", p)
}

// bookingOver tells the holder of an old link so.
func (s *server) bookingOver(w http.ResponseWriter, v visitor, err error) error {
	if !errors.Is(err, desk.ErrLinkOver) {
		return err
	}
	p := errorPage{page: s.newPage(v, "")}
	p.Title, p.Text = p.Say("page.book.title"), p.Say("page.book.over")
	return s.render(w, http.StatusGone, "error", p)
}

func (s *server) bookPage(r *http.Request, v visitor, b desk.Booker, by desk.By) (bookPage, error) {
	o := s.operator()
	p := bookPage{page: s.newPage(v, ""), Action: s.root + desk.BookingPath + url.PathEscape(r.PathValue("token"))}
	p.Words = wording.For(firstOf(b.Person.Language, o.Language), o.Units).By(o.Clock)
	p.Title = p.Say("page.book.title")
	if o.Phone != "" {
		p.Call = p.Say("page.book.call", "operator", o.Name, "phone", o.Phone)
	}
	if b.Scope.Kind == vent.KindCustomer {
		for _, x := range b.Sites {
			link := s.root + s.booking.Path(b.Person, vent.Scope{Kind: vent.KindSite, ID: x.ID}, vent.DateOf(s.now().UTC()))
			p.Sites = append(p.Sites, bookSite{Name: x.Name, Address: x.Address, Link: link})
		}
		return p, nil
	}
	offer, err := s.desk.Offer(by, b.Scope)
	if err != nil {
		return p, err
	}
	p.Place = offer.Site.Name
	if offer.Unit.Name != "" && offer.Unit.Name != offer.Site.Name {
		p.Place += ", " + offer.Unit.Name
	}
	p.Cutoff = p.Say("page.book.cutoff", "n", strconv.Itoa(offer.Cutoff))
	for _, x := range offer.Wishes {
		p.Wishes = append(p.Wishes, p.Say("page.book.wish.have", "text", x.Text))
	}
	p.trips(offer, s.now())
	p.offers(offer)
	return p, p.moving(s, r.URL.Query().Get("move"), b, by)
}

// trips lists what is agreed and what is proposed.
func (p *bookPage) trips(o desk.Offer, now time.Time) {
	for i, t := range append(o.Agreed, o.Proposals...) {
		x := bookTrip{ID: t.Visit.ID.String()}
		first, last := t.Parts[0], t.Parts[len(t.Parts)-1]
		start, end := first.Start, last.Start+last.Minutes
		if o.Scope.Kind == vent.KindSite {
			start, end = t.Visit.Start, t.Visit.Start+t.Visit.Minutes
		}
		x.When = p.Time(t.Visit.On, start, end-start)
		var doors []string
		for _, part := range t.Parts {
			if part.Unit.Name != "" && part.Unit.Kind != vent.House {
				doors = append(doors, part.Unit.Name)
			}
		}
		if len(doors) > 0 {
			x.Doors = p.Say("page.book.doors", "doors", strings.Join(doors, ", "))
		}
		if i >= len(o.Agreed) {
			p.Proposed = append(p.Proposed, x)
			continue
		}
		zone := zoneOf(t.Visit.Zone)
		x.Fixed = now.Add(time.Duration(o.Cutoff) * time.Hour).After(t.Visit.On.At(t.Visit.Start, zone))
		if t.Visit.State == vent.Held {
			until := t.Visit.Until.Time().In(zone)
			x.Hold = p.Say("page.book.hold", "when", p.From(vent.DateOf(until), until.Hour()*60+until.Minute()))
		}
		x.MoveLink = p.Action + "?move=" + x.ID + "#move"
		p.Agreed = append(p.Agreed, x)
	}
}

// offers lists what is due and the times that do.
func (p *bookPage) offers(o desk.Offer) {
	for _, d := range o.Dues {
		what := p.What(d.Due)
		if o.Scope.Kind == vent.KindSite && d.Unit.Name != "" && d.Unit.Kind != vent.House {
			what = d.Unit.Name + ": " + what
		}
		p.Due = append(p.Due, p.Say("page.book.due.line", "what", what, "date", p.Date(d.Due.Day)))
	}
	p.slots(o.Slots)
	switch {
	case len(p.Slots)+len(p.Proposed) > 0:
	case o.Opens != 0:
		p.Nothing = p.Say("page.book.opens", "date", p.Date(o.Opens))
	case len(o.Dues) > 0:
		p.Nothing = p.Say("page.book.noslot")
	case len(p.Agreed) == 0:
		p.Nothing = p.Say("page.book.none")
	}
}

func (p *bookPage) slots(all []visits.Slot) {
	p.Slots = nil
	for _, x := range all {
		p.Slots = append(p.Slots, bookSlot{Value: x.TechnicianID.String() + " " + x.On.String() + " " + strconv.Itoa(x.Start), When: p.Time(x.On, x.Start, x.Minutes)})
		p.About = p.Say("page.book.slots.about", "time", p.Duration(x.Minutes))
	}
}

// moving shows the times to which one visit can go, in place of those for a new one.
func (p *bookPage) moving(s *server, visit string, b desk.Booker, by desk.By) error {
	for i := range p.Agreed {
		if p.Agreed[i].ID != visit || p.Agreed[i].Fixed {
			continue
		}
		id, err := vent.ParseID(visit)
		if err != nil {
			return err
		}
		all, err := s.desk.MoveSlots(by, b.Scope, id)
		if err != nil {
			return err
		}
		p.Moving = &p.Agreed[i]
		p.slots(all)
		p.Nothing, p.Proposed, p.Due = "", nil, nil
		if len(p.Slots) == 0 {
			p.Nothing = p.Say("page.book.noslot")
		}
	}
	return nil
}

// takeBooking does what a button asks. A time that was taken meanwhile is answered with 409 and the next times; the same button
// pressed again gives the same answer.
func (s *server) takeBooking(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	b, by, err := s.holder(r, v)
	if err != nil {
		return s.bookingOver(w, v, err)
	}
	if b.Scope.Kind == vent.KindCustomer {
		return vent.ErrNotFound
	}
	done, change, failed := s.doBooking(r, b, by)
	p, err := s.bookPage(r, v, b, by)
	if err != nil {
		return err
	}
	var wrong vent.Problems
	switch {
	case failed == nil:
		p.Done = p.Say("page.book."+done, "when", p.Time(change.Visit.On, change.Visit.Start, change.Visit.Minutes))
		return s.render(w, http.StatusOK, "booking", p)
	case errors.Is(failed, desk.ErrTooLate):
		p.Problem = p.Say("page.book.late")
		return s.render(w, http.StatusConflict, "booking", p)
	case errors.Is(failed, vent.ErrConflict):
		p.Problem = p.Say("page.book.taken")
		return s.render(w, http.StatusConflict, "booking", p)
	case errors.Is(failed, vent.ErrInvalid) || errors.As(failed, &wrong):
		p.Problem = p.Say("page.book.what")
		return s.render(w, http.StatusUnprocessableEntity, "booking", p)
	}
	return failed
}

// doBooking gives the key of what to say of what was done.
func (s *server) doBooking(r *http.Request, b desk.Booker, by desk.By) (done string, c desk.VisitChange, err error) {
	form := r.PostForm
	switch {
	case form.Has("slot"):
		w, err := slotIn(form.Get("slot"))
		if err != nil {
			return "", c, err
		}
		if !form.Has("visit") {
			c, err = s.desk.BookSlot(by, b.Scope, w)
			return "booked", c, err
		}
		id, err := vent.ParseID(form.Get("visit"))
		if err != nil {
			return "", c, vent.ErrInvalid
		}
		c, err = s.desk.MoveToSlot(by, b.Scope, id, w)
		return "moved", c, err
	case form.Has("agree"):
		id, err := vent.ParseID(form.Get("agree"))
		if err != nil {
			return "", c, vent.ErrInvalid
		}
		c, err = s.desk.AgreeInScope(by, b.Scope, id)
		return "booked", c, err
	case form.Has("cancel"):
		id, err := vent.ParseID(form.Get("cancel"))
		if err != nil {
			return "", c, vent.ErrInvalid
		}
		c, err = s.desk.CancelInScope(by, b.Scope, id, "called off by link")
		return "cancelled", c, err
	case form.Has("days"):
		return "wished", c, s.desk.WishDays(by, b.Scope, form.Get("days"))
	}
	return "", c, vent.ErrInvalid
}

// slotIn reads the value of a slot's button.
func slotIn(value string) (w desk.SlotWish, err error) {
	part := strings.Fields(value)
	if len(part) != 3 {
		return w, vent.ErrInvalid
	}
	if w.TechnicianID, err = vent.ParseID(part[0]); err != nil {
		return w, vent.ErrInvalid
	}
	if w.On, err = vent.ParseDate(part[1]); err != nil {
		return w, vent.ErrInvalid
	}
	if w.Start, err = strconv.Atoi(part[2]); err != nil {
		return w, vent.ErrInvalid
	}
	return w, nil
}
