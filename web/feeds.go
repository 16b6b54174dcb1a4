package web

import (
	"cmp"
	"crypto/rand"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// mostFits is how many customers or sites are offered where the words fit several.
const mostFits = 12

// feedsPage lists the secret calendar addresses and makes new ones.
type feedsPage struct {
	page
	Made  *madeFeed
	Gone  bool // an address was made, but is no longer remembered
	Rows  []feedRow
	Form  feedForm
	Ended []feedRow
}

// madeFeed is a new address, shown for ten minutes.
type madeFeed struct {
	Name, Address string
	Subscribe     template.URL // the same address in the form that opens a calendar program
	Plain         string       // its path, to look at or to keep as a file
}

// feedRow is one feed.
type feedRow struct {
	ID, Name, Shows, Created, Fetched, State string
}

// feedForm asks what a new calendar is to show.
type feedForm struct {
	Once  string // key of this form: sent twice, it makes one feed
	Scope field
	Which field
	Name  field
	Shows tickList // nothing ticked is everything
	More  tickList // alarms, tasks
}

func (s *server) showFeeds(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, err := s.feedsPage(v)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	if key := q.Get("made"); key != "" {
		made, ok := s.shown.get(key, s.now())
		p.Gone = !ok
		if ok {
			p.Made = s.madeFeed(r, made)
			w.Header().Set("Cache-Control", "no-store")
		}
	}
	p.Form.fill(url.Values{"scope": {cmp.Or(q.Get("scope"), string(vent.KindOperator))}, "which": {q.Get("which")}})
	if err := s.nameWhich(&p.Form); err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "feeds", p)
}

// nameWhich offers the one customer or site that an address named, so that its id need not be read.
func (s *server) nameWhich(f *feedForm) error {
	id, err := vent.ParseID(f.Which.Value)
	if err != nil {
		return nil
	}
	scope := vent.Scope{Kind: vent.Kind(f.Scope.Value), ID: id}
	names, err := s.desk.Names(scope)
	if n, ok := names[scope]; ok && err == nil {
		f.offer([]desk.Named{n})
		f.Which.Choices[0].Chosen = true
	}
	return err
}

func (s *server) feedsPage(v visitor) (feedsPage, error) {
	p := feedsPage{page: s.newPage(v, "feeds")}
	f := figures{p.Words}
	p.Title = p.Say("page.feeds.title")
	all, err := s.desk.Feeds()
	if err != nil {
		return p, err
	}
	slices.SortFunc(all, func(a, b vent.Feed) int {
		return cmp.Or(cmp.Compare(b.Created, a.Created), strings.Compare(b.ID.String(), a.ID.String()))
	})
	scopes := make([]vent.Scope, len(all))
	for i, x := range all {
		scopes[i] = x.Scope
	}
	names, err := s.desk.Names(scopes...)
	if err != nil {
		return p, err
	}
	zone := zoneOf(s.operator().Zone)
	for _, x := range all {
		row := f.feedRow(x, names[x.Scope].Name, zone)
		if x.Revoked != 0 {
			p.Ended = append(p.Ended, row)
		} else {
			p.Rows = append(p.Rows, row)
		}
	}
	p.Form = f.feedForm()
	return p, nil
}

func (f figures) feedRow(x vent.Feed, scope string, zone *time.Location) feedRow {
	at := func(i vent.Instant) string { return f.moment(i, zone) }
	row := feedRow{ID: x.ID.String(), Name: x.Name, Created: f.Say("page.feeds.created", "when", at(x.Created)),
		Fetched: f.Say("page.feeds.never"), Shows: f.Say("page.feeds.shows."+string(x.Scope.Kind), "name", scope) + f.feedParts(x)}
	if x.Fetched != 0 {
		by := x.FetchedBy
		if by == "" {
			by = f.Say("page.feeds.somebody")
		}
		row.Fetched = f.Say("page.feeds.fetched", "when", at(x.Fetched), "who", by)
	}
	switch {
	case x.Revoked != 0 && !x.Replaced.IsZero():
		row.State = f.Say("page.feeds.replaced", "when", at(x.Revoked))
	case x.Revoked != 0:
		row.State = f.Say("page.feeds.revoked", "when", at(x.Revoked))
	}
	return row
}

// feedParts says what of its scope a feed shows, where that is not everything.
func (f figures) feedParts(x vent.Feed) (text string) {
	var parts []string
	for _, p := range x.Shows {
		parts = append(parts, f.Say("page.feeds.part."+string(p)))
	}
	if len(parts) > 0 {
		text = " " + f.Say("page.feeds.only", "parts", strings.Join(parts, ", "))
	}
	if x.Alarms {
		text += " " + f.Say("page.feeds.with.alarms")
	}
	if x.Tasks {
		text += " " + f.Say("page.feeds.with.tasks")
	}
	return text
}

func (f figures) feedForm() feedForm {
	form := feedForm{
		Once:  rand.Text(),
		Scope: field{Name: "scope", Label: f.Say("page.feeds.field.scope")},
		Which: field{Name: "which", Label: f.Say("page.feeds.field.which"), Hint: f.Say("page.feeds.field.which.hint")},
		Name:  field{Name: "name", Label: f.Say("page.feeds.field.name"), Hint: f.Say("page.feeds.field.name.hint")},
	}
	form.Scope.Choices = choices(f, "page.feeds.scope.", vent.KindOperator, vent.KindCustomer, vent.KindSite, vent.KindPerson)
	form.Shows = tickList{Name: "shows", Label: f.Say("page.feeds.field.shows"), Choices: choices(f, "page.feeds.part.", vent.FeedParts()...)}
	form.More = tickList{Name: "more", Label: f.Say("page.feeds.field.more"), Choices: choices(f, "page.feeds.more.", "alarms", "tasks")}
	return form
}

func (f *feedForm) fill(v url.Values) {
	if once := v.Get("once"); once != "" && len(once) <= 64 {
		f.Once = once
	}
	f.Shows.fill(v)
	f.More.fill(v)
	for _, x := range []*field{&f.Scope, &f.Which, &f.Name} {
		x.Value = strings.TrimSpace(v.Get(x.Name))
		for i := range x.Choices {
			x.Choices[i].Chosen = x.Choices[i].Value == x.Value
		}
	}
}

// offer lists what fits the words, to choose from.
func (f *feedForm) offer(fits []desk.Named) {
	f.Which.Choices = nil
	for _, n := range fits {
		label := n.Name
		if n.Detail != "" {
			label += ", " + n.Detail
		}
		f.Which.Choices = append(f.Which.Choices, choice{Value: n.Scope.ID.String(), Label: label})
	}
}

func (s *server) makeFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p, err := s.feedsPage(v)
	if err != nil {
		return err
	}
	p.Form.fill(r.PostForm)
	scope, ok, err := s.chooseScope(p.page, &p.Form)
	if err != nil {
		return err
	}
	if !ok {
		return s.render(w, http.StatusUnprocessableEntity, "feeds", p)
	}
	err = s.shown.once(p.Form.Once, s.now(), func() (desk.NewFeed, error) {
		return s.desk.CreateFeed(s.by(v), p.Form.feed(scope))
	})
	var problems vent.Problems
	if errors.As(err, &problems) {
		for _, x := range problems {
			p.Form.Name.Problem = p.Form.Name.Label + " " + x.Text
		}
		return s.render(w, http.StatusUnprocessableEntity, "feeds", p)
	}
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/feeds?made="+url.QueryEscape(p.Form.Once))
	return nil
}

// feed gives the feed that the form asks for.
func (f *feedForm) feed(scope desk.Named) vent.Feed {
	more := f.More.ticked(nil)
	x := vent.Feed{Scope: scope.Scope, Name: cmp.Or(f.Name.Value, scope.Name), Alarms: slices.Contains(more, "alarms"), Tasks: slices.Contains(more, "tasks")}
	for _, part := range f.Shows.ticked(nil) {
		x.Shows = append(x.Shows, vent.FeedPart(part))
	}
	return x
}

// chooseScope resolves what a new feed is to show; where the words fit none or several it says so at the field.
func (s *server) chooseScope(words page, f *feedForm) (n desk.Named, ok bool, err error) {
	kind := vent.Kind(f.Scope.Value)
	switch kind {
	case vent.KindOperator:
		names, err := s.desk.Names(vent.OperatorScope)
		return names[vent.OperatorScope], true, err
	case vent.KindCustomer, vent.KindSite, vent.KindPerson:
	default:
		f.Scope.Problem = words.Say("page.feeds.problem.scope")
		return n, false, nil
	}
	if f.Which.Value == "" {
		f.Which.Problem = words.Say("page.feeds.problem.which")
		return n, false, nil
	}
	fits, err := s.desk.FindNamed(kind, f.Which.Value, mostFits)
	switch {
	case err != nil && !errors.Is(err, vent.ErrNotFound):
		return n, false, err
	case len(fits) == 0 || err != nil:
		f.Which.Problem = words.Say("page.feeds.problem.none")
	case len(fits) == 1:
		return fits[0], true, nil
	default:
		f.Which.Problem = words.Say("page.feeds.problem.several")
		f.offer(fits)
	}
	return n, false, nil
}

// madeFeed tells the new address. Where no base address is set, it begins with what the browser asked for.
func (s *server) madeFeed(r *http.Request, made desk.NewFeed) *madeFeed {
	address := s.base(r) + "/feed/" + made.Token + ".ics"
	_, rest, _ := strings.Cut(address, "://")
	return &madeFeed{Name: made.Feed.Name, Address: address, Subscribe: template.URL("webcal://" + rest), Plain: s.root + "/feed/" + made.Token + ".ics"}
}

func (s *server) rotateFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := s.feedOf(r)
	if err != nil {
		return err
	}
	once := cmp.Or(r.PostForm.Get("once"), rand.Text())
	err = s.shown.once(once, s.now(), func() (desk.NewFeed, error) { return s.desk.RotateFeed(s.by(v), id) })
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/feeds?made="+url.QueryEscape(once))
	return nil
}

func (s *server) revokeFeed(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := s.feedOf(r)
	if err != nil {
		return err
	}
	if err := s.desk.RevokeFeed(s.by(v), id); err != nil {
		return err
	}
	s.seeOther(w, r, "/feeds")
	return nil
}

// feedOf reads which feed a form is about.
func (s *server) feedOf(r *http.Request) (vent.ID, error) {
	if err := r.ParseForm(); err != nil {
		return vent.ID{}, formError(err)
	}
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return id, vent.ErrNotFound
	}
	return id, nil
}
