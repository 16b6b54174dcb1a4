package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify"
	"ventdue/vent"
)

type feedLine struct {
	ID        vent.ID      `json:"id"`
	Name      string       `json:"name"`
	Shows     string       `json:"shows"`
	Created   vent.Instant `json:"created"`
	Revoked   vent.Instant `json:"revoked,omitzero"`
	Fetched   vent.Instant `json:"last_fetched,omitzero"`
	FetchedBy string       `json:"last_fetched_by,omitempty"`
	// Address is shown once, when the feed was made or given a new one.
	Address string `json:"address,omitempty"`
}

func (h *house) askFeeds(context.Context, call.Request, noArgs) ([]feedLine, error) {
	all, err := h.desk.Feeds()
	if err != nil {
		return nil, err
	}
	lines := []feedLine{}
	for _, f := range all {
		l, err := h.feedLine(f, "")
		if err != nil {
			return nil, err
		}
		lines = append(lines, l)
	}
	return lines, nil
}

func (h *house) feedLine(f vent.Feed, token string) (feedLine, error) {
	names, err := h.desk.Names(f.Scope)
	if err != nil {
		return feedLine{}, err
	}
	shows := "everything"
	if f.Scope.Kind != vent.KindOperator {
		shows = string(f.Scope.Kind) + " " + names[f.Scope].Name
	}
	for i, p := range f.Shows {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		shows += sep + string(p)
	}
	l := feedLine{ID: f.ID, Name: f.Name, Shows: shows, Created: f.Created, Revoked: f.Revoked, Fetched: f.Fetched, FetchedBy: f.FetchedBy}
	if token != "" {
		l.Address = h.cfg.Load().Web.BaseURL + notify.FeedPath + token + ".ics"
	}
	return l, nil
}

type feedMakeArgs struct {
	Customer string `json:"customer,omitempty"`
	Site     string `json:"site,omitempty"`
	Name     string `json:"name,omitempty"`
	Alarms   bool   `json:"alarms,omitempty"`
	Tasks    bool   `json:"tasks,omitempty"`

	Technician string          `json:"technician,omitempty"`
	For        string          `json:"for,omitempty"` // whose feed it is: e-mail address, key or id
	Shows      []vent.FeedPart `json:"parts,omitempty"`
}

func (h *house) askFeedMake(_ context.Context, r call.Request, a feedMakeArgs) (feedLine, error) {
	f := vent.Feed{Scope: vent.OperatorScope, Name: a.Name, Alarms: a.Alarms, Tasks: a.Tasks, Shows: a.Shows}
	if a.For != "" {
		id, err := h.desk.FindPerson(a.For)
		if err != nil {
			return feedLine{}, err
		}
		f.PersonID = id
	}
	for kind, what := range map[vent.Kind]string{vent.KindCustomer: a.Customer, vent.KindSite: a.Site, vent.KindPerson: a.Technician} {
		if what == "" {
			continue
		}
		n, err := h.theOne(kind, what)
		if err != nil {
			return feedLine{}, err
		}
		f.Scope = n.Scope
		if f.Name == "" {
			f.Name = n.Name
		}
	}
	if f.Name == "" {
		f.Name = "everything"
	}
	made, err := h.desk.CreateFeed(by(r), f)
	if err != nil {
		return feedLine{}, err
	}
	return h.feedLine(made.Feed, made.Token)
}

// theOne finds the one customer or site that fits.
func (h *house) theOne(kind vent.Kind, what string) (desk.Named, error) {
	fits, err := h.desk.FindNamed(kind, what, 6)
	switch {
	case err != nil:
		return desk.Named{}, err
	case len(fits) == 0:
		return desk.Named{}, fmt.Errorf("no %s fits %q: %w", kind, what, vent.ErrNotFound)
	case len(fits) > 1:
		var names []string
		for _, n := range fits {
			names = append(names, fmt.Sprintf("%s (%s)", n.Name, n.Scope.ID))
		}
		return desk.Named{}, fmt.Errorf("more than one %s fits %q: %s; give more words or the id: %w", kind, what, strings.Join(names, "; "), vent.ErrConflict)
	}
	return fits[0], nil
}

type feedArgs struct {
	Feed string `json:"feed"` // see desk.FindFeed
}

// theFeed finds the one feed that fits.
func (h *house) theFeed(what string) (vent.Feed, error) {
	fits, err := h.desk.FindFeed(what, 6)
	switch {
	case err != nil:
		return vent.Feed{}, err
	case len(fits) == 0:
		return vent.Feed{}, fmt.Errorf("no feed fits %q, see `ventdue feed list`: %w", what, vent.ErrNotFound)
	case len(fits) > 1:
		var names []string
		for _, f := range fits {
			names = append(names, fmt.Sprintf("%s (%s)", f.Name, f.ID))
		}
		return vent.Feed{}, fmt.Errorf("more than one feed fits %q: %s; give more words or the id: %w", what, strings.Join(names, "; "), vent.ErrConflict)
	}
	return fits[0], nil
}

func (h *house) askFeedRotate(_ context.Context, r call.Request, a feedArgs) (feedLine, error) {
	f, err := h.theFeed(a.Feed)
	if err != nil {
		return feedLine{}, err
	}
	made, err := h.desk.RotateFeed(by(r), f.ID)
	if err != nil {
		return feedLine{}, err
	}
	return h.feedLine(made.Feed, made.Token)
}

func (h *house) askFeedRevoke(_ context.Context, r call.Request, a feedArgs) (feedLine, error) {
	f, err := h.theFeed(a.Feed)
	if err != nil {
		return feedLine{}, err
	}
	if err := h.desk.RevokeFeed(by(r), f.ID); err != nil {
		return feedLine{}, err
	}
	return h.feedLine(f, "")
}

type mailArgs struct {
	Person string `json:"person,omitempty"`
}

func (h *house) askMail(_ context.Context, r call.Request, a mailArgs) (wording.MailStory, error) {
	history, err := h.desk.MailHistory(a.Person, 200)
	if err != nil {
		return wording.MailStory{}, err
	}
	o, err := h.desk.Operator()
	if err != nil {
		return wording.MailStory{}, err
	}
	zone, err := time.LoadLocation(o.Zone)
	if err != nil {
		return wording.MailStory{}, err
	}
	return wording.For(o.Language, o.Units).MailStory(history, vent.InstantOf(r.Now).DateIn(zone), zone), nil
}
