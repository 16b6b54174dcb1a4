package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ventdue/desk/wording"
	"ventdue/vent"
)

// findRows is how many hits a page lists.
const findRows = 40

// findPage is what a search found.
type findPage struct {
	page
	Query, Line string
	Hits        []hitRow
	Prev, Next  string
}

type hitRow struct{ Kind, Name, Detail, Link string }

func (s *server) showFind(w http.ResponseWriter, r *http.Request, v visitor) error {
	words := searched(r.URL.Query().Get("q"))
	_, skip, err := pageQuery(r)
	if err != nil {
		return err
	}
	hits, err := s.desk.Search(words, skip, findRows)
	if err != nil {
		return err
	}
	p := findPage{page: s.newPage(v, "find"), Query: words}
	p.Title = p.Say("page.find.title")
	for _, h := range hits.List {
		row := hitRow{Kind: p.Say("page.find." + string(h.Kind)), Name: h.Name, Detail: h.Detail}
		switch h.Kind {
		case vent.KindCustomer:
			row.Link = s.root + customerAddress(h.ID)
		case vent.KindSite:
			row.Link = s.root + siteAddress(h.ID)
		case vent.KindRun:
			row.Link = s.root + "/runs/" + h.ID.String()
		case vent.KindPerson:
			row.Link = s.root + "/people/" + h.ID.String() + "/mail"
		}
		p.Hits = append(p.Hits, row)
	}
	if words != "" {
		p.Line = counted(p.Words, "page.find.found", hits.Total)
	}
	p.Prev, p.Next = turn(s.root+"/find", "", words, skip, findRows, hits.Total)
	return s.render(w, http.StatusOK, "find", p)
}

// searched gives the words of a search on one line, cut to a sensible length.
func searched(q string) string {
	q = strings.Join(strings.Fields(strings.ToValidUTF8(q, "")), " ")
	if len(q) > 200 {
		q = strings.ToValidUTF8(q[:200], "")
	}
	return q
}

// pageQuery reads which part of a list an address shows, and how much of it comes before. An address that says what cannot
// be is refused, not guessed at.
func pageQuery(r *http.Request, shows ...string) (show string, skip int, err error) {
	var p vent.Problems
	q := r.URL.Query()
	if show = q.Get("show"); show != "" && !slices.Contains(shows, show) {
		p.Add("show", show, "is not known")
	}
	if given := q.Get("skip"); given != "" {
		if skip, err = strconv.Atoi(given); err != nil || skip < 0 {
			p.Add("skip", given, "is not a count")
		}
	}
	return show, skip, p.Err()
}

// turn gives the addresses of the pages before and after; "" where there is none.
func turn(at, show, words string, skip, rows, total int) (prev, next string) {
	to := func(skip int) string {
		v := url.Values{}
		if show != "" {
			v.Set("show", show)
		}
		if words != "" {
			v.Set("q", words)
		}
		if skip > 0 {
			v.Set("skip", strconv.Itoa(skip))
		}
		if len(v) == 0 {
			return at
		}
		return at + "?" + v.Encode()
	}
	if skip > 0 {
		prev = to(max(0, skip-rows))
	}
	if skip+rows < total {
		next = to(skip + rows)
	}
	return prev, next
}

// monthPage is a month as a calendar on the wall shows it.
type monthPage struct {
	page
	Month      string
	Prev, Next string // addresses of the months beside it
	Now        string // of the present one; "" where it is shown
	Weekdays   []string
	Weeks      [][]dayCell
}

// dayCell is one day.
type dayCell struct {
	Day, ISO, Full string // "" outside the month
	Today          bool
	Visits         []visitRow
	Dues           []dueRow
	MoreDues, Link string
}

// monthRows is how many dues and visits a day of the month lists.
const monthRows = 3

func (s *server) showMonth(w http.ResponseWriter, r *http.Request, v visitor) error {
	var of vent.Date
	if given := r.URL.Query().Get("m"); given != "" {
		var err error
		if of, err = vent.ParseDate(given + "-01"); err != nil {
			var p vent.Problems
			p.Add("m", given, "is not a month: write it as YYYY-MM")
			return p
		}
	}
	m, err := s.desk.Month(s.by(v), of, monthRows)
	if err != nil {
		return err
	}
	p := monthPage{page: s.newPage(v, "month")}
	f := figures{p.Words}
	p.Title = p.Say("page.month.title")
	p.Month = f.Month(m.First)
	at := func(d vent.Date) string { return s.root + "/month?m=" + d.String()[:7] }
	p.Prev, p.Next = at(m.First.AddDays(-1)), at(m.First.AddDays(len(m.Days)))
	if m.Today < m.First || m.Today >= m.First.AddDays(len(m.Days)) {
		p.Now = s.root + "/month"
	}
	start := 1 // Monday; where feet are used the week begins on Sunday
	if f.us() {
		start = 0
	}
	for i := range 7 {
		p.Weekdays = append(p.Weekdays, f.Say("weekday."+strconv.Itoa((start+i)%7)))
	}
	l := links{root: s.root}
	week := make([]dayCell, (int(m.First.Weekday())-start+7)%7, 7)
	for i, day := range m.Days {
		d := m.First.AddDays(i)
		cell := dayCell{Day: strconv.Itoa(i + 1), ISO: d.String(), Full: f.Date(d), Today: d == m.Today, Link: s.root + "/due?from=" + d.String()}
		for _, x := range day.Visits {
			cell.Visits = append(cell.Visits, f.visitRow(s.root, x))
		}
		for _, x := range day.Dues {
			cell.Dues = append(cell.Dues, l.row(p.Words, x, m.Today))
		}
		if n := day.TotalDues - len(day.Dues); n > 0 {
			cell.MoreDues = p.Say("page.month.more", "n", wording.Grouped(n))
		}
		if week = append(week, cell); len(week) == 7 {
			p.Weeks, week = append(p.Weeks, week), nil
		}
	}
	if len(week) > 0 {
		p.Weeks = append(p.Weeks, append(week, make([]dayCell, 7-len(week))...))
	}
	return s.render(w, http.StatusOK, "month", p)
}
