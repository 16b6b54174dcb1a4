package web

import (
	"net/http"
	"net/url"
	"strings"

	"ventdue/desk"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// apiSlot is a time at which a technician can come.
type apiSlot struct {
	TechnicianID vent.ID   `json:"technician_id"`
	On           vent.Date `json:"on"`
	Start        int       `json:"start_minutes"` // after midnight at the site
	Minutes      int       `json:"minutes"`
}

func slotOf(x visits.Slot) apiSlot {
	return apiSlot{TechnicianID: x.TechnicianID, On: x.On, Start: x.Start, Minutes: x.Minutes}
}

// apiOffer is what can be booked for a building or one of its doors.
type apiOffer struct {
	Site      apiNamed   `json:"site"`
	Unit      *apiNamed  `json:"unit,omitempty"`
	Today     vent.Date  `json:"today"` // at the site
	Dues      []apiDue   `json:"dues"`  // that one visit would do
	Slots     []apiSlot  `json:"slots"`
	Opens     vent.Date  `json:"opens,omitzero"` // from when something can be booked, where nothing can be yet
	Cutoff    int        `json:"cutoff_hours"`   // before a visit, until which a customer can move it
	Agreed    []apiVisit `json:"agreed"`
	Proposals []apiVisit `json:"proposals"`
}

type (
	apiSlotQuery struct {
		Site vent.ID `query:"site" description:"of a whole building; either this or unit"`
		Unit vent.ID `query:"unit" description:"of one door"`
	}
	apiPlace struct {
		Site vent.ID `json:"site_id,omitzero" description:"a whole building; either this or unit_id"`
		Unit vent.ID `json:"unit_id,omitzero" description:"one door"`
	}
	apiBook struct {
		apiPlace
		TechnicianID vent.ID   `json:"technician_id"`
		On           vent.Date `json:"on"`
		Start        int       `json:"start_minutes" minimum:"0" maximum:"1439"`
	}
	apiWish struct {
		apiPlace
		Days string `json:"days" description:"the days that would do, in words"`
	}
	apiSlots struct {
		Slots []apiSlot `json:"slots"`
	}
	apiWishList struct {
		Wishes []apiWished `json:"wishes"`
	}
	apiWished struct {
		Site apiNamed     `json:"site"`
		Unit *apiNamed    `json:"unit,omitempty"`
		Days string       `json:"days"`
		At   vent.Instant `json:"at"`
	}
)

// scope tells whose visits are meant.
func (x apiPlace) scope() (vent.Scope, error) {
	switch {
	case x.Site.IsZero() == x.Unit.IsZero():
		return vent.Scope{}, vent.Problems{{Field: "site_id", Text: "name either a building or a unit"}}
	case x.Unit.IsZero():
		return vent.Scope{Kind: vent.KindSite, ID: x.Site}, nil
	}
	return vent.Scope{Kind: vent.KindUnit, ID: x.Unit}, nil
}

// placeAsked reads a building or a unit of an address.
func placeAsked(q url.Values) (vent.Scope, error) {
	var p vent.Problems
	x := apiPlace{Site: idAsked(&p, q.Get("site"), "site"), Unit: idAsked(&p, q.Get("unit"), "unit")}
	if err := p.Err(); err != nil {
		return vent.Scope{}, err
	}
	if x.Site.IsZero() == x.Unit.IsZero() {
		return vent.Scope{}, vent.Problems{{Field: "site", Text: "name either a building or a unit"}}
	}
	return x.scope()
}

// wish reads the time that was chosen.
func (x apiBook) wish() (desk.SlotWish, error) {
	var p vent.Problems
	checkStart(&p, x.Start)
	if x.On == 0 {
		p.Add("on", "", "is missing: take a day that is offered")
	}
	if x.TechnicianID.IsZero() {
		p.Add("technician_id", "", "is missing: take one that is offered")
	}
	return desk.SlotWish{TechnicianID: x.TechnicianID, On: x.On, Start: x.Start}, p.Err()
}

func (s *server) apiOffer(w http.ResponseWriter, r *http.Request, v visitor) error {
	scope, err := placeAsked(r.URL.Query())
	if err != nil {
		return err
	}
	o, err := s.desk.Offer(s.by(v), scope)
	if err != nil {
		return err
	}
	words := s.words(v)
	visit := func(t desk.TripView) apiVisit { return s.visitFor(v, t) }
	return writeJSON(w, http.StatusOK, apiOffer{Site: apiNamed{ID: o.Site.ID, Name: o.Site.Name, Address: o.Site.Address}, Unit: named(o.Unit.ID, o.Unit.Name, ""),
		Today: o.Today, Opens: o.Opens, Cutoff: o.Cutoff, Slots: each(o.Slots, slotOf), Agreed: each(o.Agreed, visit), Proposals: each(o.Proposals, visit),
		Dues: each(o.Dues, func(d desk.DueView) apiDue { return placedDue(words, d, o.Today) })})
}

// apiBookSlot books a time that was offered.
func (s *server) apiBookSlot(w http.ResponseWriter, r *http.Request, v visitor) error {
	scope, wish, err := readBooking(r)
	if err != nil {
		return err
	}
	change, err := s.desk.BookSlot(s.by(v), scope, wish)
	if err != nil {
		return orSlots(err, func() ([]visits.Slot, error) {
			o, err := s.desk.Offer(s.by(v), scope)
			return o.Slots, err
		})
	}
	if change.Known {
		return s.writeChange(w, v, http.StatusOK, change)
	}
	return s.writeChange(w, v, http.StatusCreated, change)
}

func readBooking(r *http.Request) (scope vent.Scope, wish desk.SlotWish, err error) {
	var in apiBook
	if err = readJSON(r, &in); err != nil {
		return scope, wish, err
	}
	if scope, err = in.scope(); err != nil {
		return scope, wish, err
	}
	wish, err = in.wish()
	return scope, wish, err
}

// apiMoveSlots gives the times to which a building's or a door's part of a visit can go.
func (s *server) apiMoveSlots(w http.ResponseWriter, r *http.Request, v visitor) error {
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	scope, err := placeAsked(r.URL.Query())
	if err != nil {
		return err
	}
	slots, err := s.desk.MoveSlots(s.by(v), scope, t.Visit.ID)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiSlots{Slots: each(slots, slotOf)})
}

// apiMoveToSlot moves a part of a visit as the customer can, until the cut-off.
func (s *server) apiMoveToSlot(w http.ResponseWriter, r *http.Request, v visitor) error {
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	scope, wish, err := readBooking(r)
	if err != nil {
		return err
	}
	change, err := s.desk.MoveToSlot(s.by(v), scope, t.Visit.ID, wish)
	if err != nil {
		return orSlots(err, func() ([]visits.Slot, error) { return s.desk.MoveSlots(s.by(v), scope, t.Visit.ID) })
	}
	return s.writeChange(w, v, http.StatusOK, change)
}

func (s *server) apiWishes(w http.ResponseWriter, _ *http.Request, _ visitor) error {
	all, err := s.desk.Wishes()
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiWishList{Wishes: each(all, func(x desk.SiteWish) apiWished {
		return apiWished{Site: apiNamed{ID: x.Site.ID, Name: x.Site.Name, Address: x.Site.Address}, Unit: named(x.Unit.ID, x.Unit.Name, ""), Days: x.Text, At: x.At}
	})})
}

func (s *server) apiWish(w http.ResponseWriter, r *http.Request, v visitor) error {
	var in apiWish
	if err := readJSON(r, &in); err != nil {
		return err
	}
	scope, err := in.scope()
	if err != nil {
		return err
	}
	if strings.TrimSpace(in.Days) == "" {
		return vent.Problems{{Field: "days", Text: "is missing: say which days would do"}}
	}
	if err := s.desk.WishDays(s.by(v), scope, in.Days); err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiDone{Done: true})
}

// apiSlotRoutes names the addresses for booking as a customer does.
func (s *server) apiSlotRoutes() []route {
	const office, read, all = vent.Office, vent.TokenRead, vent.TokenAll
	return []route{
		apiFor(office, read, "GET /api/slots", s.apiOffer).says(apiDoc{ID: "listSlots", Summary: "What can be booked for a building or a door, and what is agreed there", Query: apiSlotQuery{}, Out: apiOffer{}}),
		apiFor(office, all, "POST /api/slots", s.apiBookSlot).says(apiDoc{ID: "bookSlot", Once: true, In: apiBook{}, Out: apiVisitChange{}, Status: []int{http.StatusCreated, http.StatusOK},
			Summary: "Book a time that is offered. A time that was taken meanwhile is refused with the next ones; the same again is answered with 200"}),
		apiFor(office, read, "GET /api/visits/{id}/slots", s.apiMoveSlots).says(apiDoc{ID: "listMoveSlots", Summary: "The times to which a building's or a door's part of a visit can go", Query: apiSlotQuery{}, Out: apiSlots{}}),
		apiFor(office, all, "POST /api/visits/{id}/slot", s.apiMoveToSlot).says(apiDoc{ID: "moveToSlot", Once: true, In: apiBook{}, Out: apiVisitChange{},
			Summary: "Move a building's or a door's part of a visit to a time that is offered, until the customers' cut-off"}),
		apiFor(office, read, "GET /api/wishes", s.apiWishes).says(apiDoc{ID: "listWishes", Summary: "Days that people asked for and nobody has answered, the oldest first", Out: apiWishList{}}),
		apiFor(office, all, "POST /api/wishes", s.apiWish).says(apiDoc{ID: "wishDays", Once: true, Summary: "Write down the days that would do", In: apiWish{}, Out: apiDone{}}),
	}
}
