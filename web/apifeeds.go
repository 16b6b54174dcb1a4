package web

import (
	"cmp"
	"net/http"

	"ventdue/desk"
	"ventdue/vent"
)

// apiFeed is a calendar address without its secret.
type apiFeed struct {
	ID        vent.ID      `json:"id"`
	Name      string       `json:"name"`
	Scope     apiScope     `json:"scope"`
	PersonID  vent.ID      `json:"person_id,omitzero"`
	Created   vent.Instant `json:"created"`
	Revoked   vent.Instant `json:"revoked,omitzero"`
	Fetched   vent.Instant `json:"last_fetched,omitzero"`
	FetchedBy string       `json:"last_fetched_by,omitempty"`
	Replaced  vent.ID      `json:"replaced_by,omitzero"`
}

// apiScope is whose dues and visits are meant; the operator's has no id.
type apiScope struct {
	Kind vent.Kind `json:"kind" enum:"operator,customer,site,person"`
	ID   vent.ID   `json:"id,omitzero"`
}

type apiFeedList struct {
	Feeds []apiFeed `json:"feeds"`
}

// apiNewFeed tells the secret address, this once.
type apiNewFeed struct {
	Feed    apiFeed `json:"feed"`
	Address string  `json:"address"`
}

type apiFeedMake struct {
	Scope apiFeedScope `json:"scope"`
	Name  string       `json:"name,omitempty" description:"without it the name of what it shows"`
}

type apiFeedScope struct {
	Kind vent.Kind `json:"kind" enum:"operator,customer,site,person"`
	ID   vent.ID   `json:"id,omitzero" description:"of the customer, site or technician"`
}

func feedOf(f vent.Feed) apiFeed {
	return apiFeed{ID: f.ID, Name: f.Name, Scope: apiScope(f.Scope), PersonID: f.PersonID, Created: f.Created, Revoked: f.Revoked,
		Fetched: f.Fetched, FetchedBy: f.FetchedBy, Replaced: f.Replaced}
}

func (s *server) apiFeeds(w http.ResponseWriter, _ *http.Request, _ visitor) error {
	all, err := s.desk.Feeds()
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiFeedList{Feeds: each(listed(all), feedOf)})
}

func (s *server) apiMakeFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	var in apiFeedMake
	if err := readJSON(r, &in); err != nil {
		return err
	}
	scope := vent.Scope(in.Scope)
	name := in.Name
	if name == "" {
		names, err := s.desk.Names(scope)
		if err != nil {
			return err
		}
		name = cmp.Or(names[scope].Name, string(scope.Kind))
	}
	made, err := s.desk.CreateFeed(s.by(v), vent.Feed{Scope: scope, Name: name})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusCreated, s.newFeed(r, made))
}

func (s *server) apiRotateFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	made, err := s.desk.RotateFeed(s.by(v), id)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusCreated, s.newFeed(r, made))
}

func (s *server) apiRevokeFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := s.desk.RevokeFeed(s.by(v), id); err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiDone{Done: true})
}

// apiDone is the answer where there is nothing else to say.
type apiDone struct {
	Done bool `json:"done"`
}

func (s *server) newFeed(r *http.Request, made desk.NewFeed) apiNewFeed {
	return apiNewFeed{Feed: feedOf(made.Feed), Address: s.madeFeed(r, made).Address}
}

// apiFeedRoutes names the addresses for calendars. Those that answer a secret take no Idempotency-Key: receipts are kept.
func (s *server) apiFeedRoutes() []route {
	const office, read, all = vent.Office, vent.TokenRead, vent.TokenAll
	made := []int{http.StatusCreated}
	return []route{
		apiFor(office, read, "GET /api/feeds", s.apiFeeds).says(apiDoc{ID: "listFeeds", Summary: "Calendar addresses, withdrawn ones included, without their secrets", Out: apiFeedList{}}),
		apiFor(office, all, "POST /api/feeds", s.apiMakeFeed).says(apiDoc{ID: "makeFeed", Summary: "Make a secret calendar address; it is told this once", In: apiFeedMake{}, Out: apiNewFeed{}, Status: made}),
		apiFor(office, all, "POST /api/feeds/{id}/address", s.apiRotateFeed).says(apiDoc{ID: "changeFeedAddress", Summary: "Give a feed a new address; the old one says for 30 days that it was replaced", Out: apiNewFeed{}, Status: made}),
		apiFor(office, all, "POST /api/feeds/{id}/revoke", s.apiRevokeFeed).says(apiDoc{ID: "revokeFeed", Summary: "Withdraw an address", Out: apiDone{}}),
	}
}
