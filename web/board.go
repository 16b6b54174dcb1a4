package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

const (
	boardRows  = 50
	untoldRows = 30
)

// boardPage is the list of what is due.
type boardPage struct {
	page
	Today    string
	Picks    []pick
	Query    string // words that were searched for
	Pick     string
	Scope    *scopeChip // nil: everything
	Stop     []dueRow
	MoreStop string // address of the rest; "" when Stop holds all
	Sections []section
	Prev     string // addresses; "" where there is no such page
	First    string
	Next     string
	Untold   untoldLine
	Empty    string // which kind of nothing: "" there are rows, "new" nothing is known yet, "none" nothing fits
	All      string // address of the unfiltered list
	Home     bool   // a household: six questions will do instead of a file
	Feed     string // address where a calendar for what is shown is made
}

// pick is one part of the list with its count.
type pick struct {
	Name, Count, Link string
	Current           bool
}

// scopeChip names the site or customer to which the list is narrowed.
type scopeChip struct {
	Kind   string // "site" or "customer"
	ID     string
	Name   string
	Detail string
	Clear  string // address without it
	Page   string // address of the page of the building or customer
	Record string // address of the building's service record; "" for a customer
	Checks string // the same for its recurring checks
}

// section is a run of rows under one heading.
type section struct {
	Name, Heading string
	Rows          []dueRow
}

// dueRow is one due on a list.
type dueRow struct {
	State     string // shape
	StateWord string
	What      string
	Place     string
	Site      string
	SiteLink  string
	Customer  string
	CustLink  string
	Day       string // in words
	ISO       string
	Away      string
	Reason    string
	RunLink   string // the run's page, or of recurring checks the building's
}

// untoldLine says of how many customers nobody can be reminded.
type untoldLine struct {
	Total     int
	Line      string
	Customers []untoldCustomer
	More      string
}

type untoldCustomer struct{ Name, Link, Why string }

func (s *server) showBoard(w http.ResponseWriter, r *http.Request, v visitor) error {
	q, err := boardQuery(r.URL.Query())
	if err != nil {
		return err
	}
	q.Max, q.Apart = boardRows, true
	b, err := s.desk.Board(s.by(v), q)
	if err != nil {
		return err
	}
	p := boardPage{page: s.newPage(v, "due"), Query: q.Words, Pick: string(q.Pick)}
	p.Title, p.Today = p.Say("page.board.title"), p.Date(b.Today)
	l := links{root: s.root, query: q}
	if err := s.nameScope(&p, l); err != nil {
		return err
	}
	p.Picks = l.picks(p.Words, b.Counts)
	for _, d := range b.Stop {
		p.Stop = append(p.Stop, l.row(p.Words, d, b.Today))
	}
	if b.Counts.Stop > len(b.Stop) && len(b.Stop) > 0 {
		p.MoreStop = l.pick(desk.PickStop)
	}
	p.Sections = l.sections(p.Words, b)
	if b.Prev != nil {
		p.Prev, p.First = l.at(*b.Prev), l.at(desk.Spot{})
	}
	if b.Next != nil {
		p.Next = l.at(*b.Next)
	}
	p.Empty, p.All = emptiness(q, b), s.root+"/due"
	p.Feed, p.Home = l.feed(), s.operator().Kind == vent.Household && v.role == vent.Owner
	if q.Start == (desk.Spot{}) && q.Pick == desk.PickAll && q.Words == "" && q.Scope.Kind == "" {
		if p.Untold, err = s.untold(v, p.Words); err != nil {
			return err
		}
	}
	return s.render(w, http.StatusOK, "board", p)
}

// boardQuery reads the address of a list. An address that says what cannot be is refused, not guessed at.
func boardQuery(v url.Values) (q desk.BoardQuery, err error) {
	var p vent.Problems
	q.Words, q.Pick = strings.Join(strings.Fields(v.Get("q")), " "), desk.Pick(v.Get("show"))
	if len(q.Words) > 200 {
		q.Words = strings.ToValidUTF8(q.Words[:200], "")
	}
	switch q.Pick {
	case desk.PickAll, desk.PickStop, desk.PickUnknown, desk.PickOverdue, desk.PickSoon, desk.PickLater:
	default:
		p.Add("show", v.Get("show"), "is not known: use stop, unknown, overdue, soon or later")
	}
	for _, kind := range []vent.Kind{vent.KindCustomer, vent.KindSite} {
		given := v.Get(string(kind))
		if given == "" {
			continue
		}
		id, err := vent.ParseID(given)
		if err != nil {
			p.Add(string(kind), given, "is not an id")
			continue
		}
		q.Scope = vent.Scope{Kind: kind, ID: id}
	}
	if from := v.Get("from"); from != "" {
		if q.Start.From, err = vent.ParseDate(from); err != nil {
			p.Add("from", from, "is not a day: write it as YYYY-MM-DD")
		}
	}
	if skip := v.Get("skip"); skip != "" {
		if q.Start.Skip, err = strconv.Atoi(skip); err != nil || q.Start.Skip < 0 {
			p.Add("skip", skip, "is not a count")
		}
	}
	return q, p.Err()
}

// emptiness tells an installation that knows nothing from a list on which nothing fits.
func emptiness(q desk.BoardQuery, b desk.Board) string {
	switch {
	case len(b.Dues)+len(b.Stop) > 0:
		return ""
	case b.Counts.All == 0 && q.Scope.Kind == "" && q.Words == "":
		return "new"
	}
	return "none"
}

func (s *server) nameScope(p *boardPage, l links) error {
	scope := l.query.Scope
	if scope.Kind == "" {
		return nil
	}
	names, err := s.desk.Names(scope)
	if err != nil {
		return err
	}
	n, ok := names[scope]
	if !ok {
		return vent.ErrNotFound
	}
	clear := l
	clear.query.Scope = vent.Scope{}
	p.Scope = &scopeChip{Kind: string(scope.Kind), ID: scope.ID.String(), Name: n.Name, Detail: n.Detail, Clear: clear.at(desk.Spot{}), Page: l.root + customerAddress(scope.ID)}
	if scope.Kind == vent.KindSite {
		p.Scope.Page = l.root + siteAddress(scope.ID)
		p.Scope.Record = l.root + "/sites/" + scope.ID.String() + "/record"
		p.Scope.Checks = l.root + checksAddress(scope.ID)
	}
	return nil
}

func (s *server) untold(v visitor, words wording.Words) (u untoldLine, err error) {
	list, total, err := s.desk.Untold(s.by(v), untoldRows)
	if err != nil || total == 0 {
		return u, err
	}
	u.Total, u.Line = total, counted(words, "page.untold", total)
	for _, x := range list {
		why := x.Why
		if why == "" {
			why = words.Say("page.untold.no_contact")
		}
		u.Customers = append(u.Customers, untoldCustomer{Name: x.Customer.Name, Why: why,
			Link: s.root + customerAddress(x.Customer.ID)})
	}
	if total > len(list) {
		u.More = words.Say("page.untold.more", "n", strconv.Itoa(total-len(list)))
	}
	return u, nil
}

// links writes the addresses of one list.
type links struct {
	root  string
	query desk.BoardQuery
}

// at gives the address of the page that starts at a spot.
func (l links) at(spot desk.Spot) string {
	v := url.Values{}
	if l.query.Words != "" {
		v.Set("q", l.query.Words)
	}
	if l.query.Pick != desk.PickAll {
		v.Set("show", string(l.query.Pick))
	}
	if k := l.query.Scope.Kind; k != "" {
		v.Set(string(k), l.query.Scope.ID.String())
	}
	if spot.From != 0 {
		v.Set("from", spot.From.String())
	}
	if spot.Skip > 0 {
		v.Set("skip", strconv.Itoa(spot.Skip))
	}
	if len(v) == 0 {
		return l.root + "/due"
	}
	return l.root + "/due?" + v.Encode()
}

func (l links) pick(p desk.Pick) string {
	l.query.Pick = p
	return l.at(desk.Spot{})
}

// feed gives the address where a calendar of the list's scope is made.
func (l links) feed() string {
	if k := l.query.Scope.Kind; k != "" {
		return l.root + "/feeds?" + url.Values{"scope": {string(k)}, "which": {l.query.Scope.ID.String()}}.Encode() + "#new"
	}
	return l.root + "/feeds"
}

func (l links) picks(words wording.Words, c desk.BoardCounts) []pick {
	var all []pick
	for _, x := range []struct {
		pick desk.Pick
		n    int
		keep bool // shown even when there are none
	}{
		{desk.PickAll, c.All, true}, {desk.PickStop, c.Stop, false}, {desk.PickOverdue, c.Overdue, true},
		{desk.PickSoon, c.Soon, true}, {desk.PickLater, c.Later, true}, {desk.PickUnknown, c.Unknown, false},
	} {
		current := x.pick == l.query.Pick
		if x.n == 0 && !x.keep && !current {
			continue
		}
		name := "all"
		if x.pick != desk.PickAll {
			name = string(x.pick)
		}
		all = append(all, pick{Name: words.Say("page.pick." + name), Count: wording.Grouped(x.n), Link: l.pick(x.pick), Current: current})
	}
	return all
}

// sections puts headings between the rows where the list changes from late to soon to later.
func (l links) sections(words wording.Words, b desk.Board) []section {
	var all []section
	for _, d := range b.Dues {
		name := "later"
		switch n := b.Today.DaysUntil(d.Due.Day); {
		case d.Due.Severity == vent.Stop:
			name = "stop"
		case n < 0:
			name = "overdue"
		case n <= desk.SoonDays:
			name = "soon"
		}
		if len(all) == 0 || all[len(all)-1].Name != name {
			all = append(all, section{Name: name, Heading: words.Say("page.section." + name)})
		}
		last := &all[len(all)-1]
		last.Rows = append(last.Rows, l.row(words, d, b.Today))
	}
	return all
}

func (l links) row(words wording.Words, d desk.DueView, today vent.Date) dueRow {
	r := dueRow{
		State: wording.StateKey(d.Due, today), What: words.What(d.Due),
		Place: roomIn(d.Place), Site: d.Site.Name, SiteLink: l.root + siteAddress(d.Site.ID),
		Customer: d.Customer.Name, CustLink: l.root + customerAddress(d.Customer.ID),
		Day: words.Date(d.Due.Day), ISO: d.Due.Day.String(), Away: words.Away(d.Due.Day, today),
		RunLink: l.root + "/runs/" + d.Run.ID.String(),
	}
	if d.Due.Kind == vent.DueCheck {
		r.RunLink = l.root + checksAddress(d.Site.ID)
	}
	r.StateWord = words.Say("state." + r.State)
	if reasons := words.Reason(d.Due); len(reasons) > 0 {
		r.Reason = reasons[0]
	}
	return r
}

// roomIn names the place inside its site: the unit, and the run where that says more.
func roomIn(p desk.Place) string {
	var parts []string
	if p.Unit.Name != "" && p.Unit.Name != p.Site.Name {
		parts = append(parts, p.Unit.Name)
	}
	if p.Run.Name != "" && p.Run.Name != vent.UsualRunName && p.Run.Name != p.Unit.Name && p.Run.Name != p.Site.Name {
		parts = append(parts, p.Run.Name)
	}
	return strings.Join(parts, ", ")
}

// counted says a sentence about n things, in the singular where there is one.
func counted(words wording.Words, key string, n int) string {
	if n == 1 {
		key += ".one"
	}
	return words.Say(key, "n", wording.Grouped(n))
}
