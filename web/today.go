package web

import (
	"net/http"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// todayRows is how much of each kind the first page lists; the rest is a link away.
const todayRows = 8

// todayPage is what needs somebody now, what comes, and who goes where.
type todayPage struct {
	page
	Today     string
	Nothing   bool // nothing is kept yet
	Home      bool // a household: six questions will do instead of a file
	Stop      []dueRow
	MoreStop  string
	Overdue   group
	Unbooked  group // not for a household, which books nobody
	Soon      group
	Mail      []wording.MessageStory
	MailLine  string
	MoreMail  string
	Untold    untoldLine
	Visits    []visitRow
	Calm      bool // nothing needs anybody now
	Books     bool
	LaterLine string
}

// group is a few dues with a line that counts all of them, and where the rest is.
type group struct {
	Line, More string
	Rows       []dueRow
}

// visitRow is one visit in a list, or a part of a technician's day that is taken for something else; that has no SiteLink.
type visitRow struct{ Day, ISO, Time, Link, Sheet, Site, SiteLink, Customer, CustLink, Who, Doors string }

// showHome is the first page: the desk's day, a technician's own, or the way to the set-up of a new installation. An address
// of the list of dues, which stood here once, leads there.
func (s *server) showHome(w http.ResponseWriter, r *http.Request, v visitor) error {
	founded, err := s.desk.Founded()
	switch {
	case err != nil:
		return err
	case !founded && v.role == vent.Owner:
		s.seeOther(w, r, "/welcome")
		return nil
	case !v.role.May(vent.Office):
		return s.showOwnDay(w, r, v)
	case r.URL.RawQuery != "":
		http.Redirect(w, r, s.root+"/due?"+r.URL.RawQuery, http.StatusPermanentRedirect)
		return nil
	}
	day, err := s.desk.Day(s.by(v), todayRows)
	if err != nil {
		return err
	}
	p, err := s.todayPage(v, day)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "today", p)
}

func (s *server) todayPage(v visitor, day desk.DayView) (todayPage, error) {
	o := s.operator()
	p := todayPage{page: s.newPage(v, "today"), Books: o.Kind != vent.Household}
	f := figures{p.Words}
	p.Title, p.Today = p.Say("page.today.title"), p.Date(day.Today)
	l := links{root: s.root}
	rows := func(dues []desk.DueView) (all []dueRow) {
		for _, d := range dues {
			all = append(all, l.row(p.Words, d, day.Today))
		}
		return all
	}
	more := func(shown, total int, at string) string {
		if total > shown {
			return at
		}
		return ""
	}
	c := day.Counts
	p.Stop, p.MoreStop = rows(day.Stop), more(len(day.Stop), c.Stop, l.pick(desk.PickStop))
	p.Overdue = group{counted(p.Words, "page.today.overdue", c.Overdue), more(len(day.Overdue), c.Overdue, l.pick(desk.PickOverdue)), rows(day.Overdue)}
	p.Soon = group{counted(p.Words, "page.today.soon", c.Soon), more(len(day.Soon), c.Soon, l.pick(desk.PickSoon)), rows(day.Soon)}
	if p.Books {
		p.Unbooked = group{counted(p.Words, "page.today.unbooked", day.UnbookedTotal), "", rows(day.Unbooked)}
	}
	p.LaterLine = counted(p.Words, "page.today.later", c.Later)
	for _, x := range day.Visits {
		p.Visits = append(p.Visits, f.visitRow(s.root, x))
	}
	p.Mail = p.MailStory(desk.MailHistory{Messages: day.Undelivered}, day.Today, zoneOf(o.Zone)).Messages
	if day.UndeliveredTotal > 0 {
		p.MailLine, p.MoreMail = counted(p.Words, "page.today.mail", day.UndeliveredTotal), s.root+"/mail"
	}
	var err error
	if p.Untold, err = s.untold(v, p.Words); err != nil {
		return p, err
	}
	p.Nothing = c.All == 0 && len(day.Visits) == 0
	p.Home = o.Kind == vent.Household && v.role == vent.Owner
	p.Calm = c.Stop+c.Overdue+day.UndeliveredTotal == 0
	return p, nil
}

func (f figures) visitRow(root string, x desk.BookedVisit) visitRow {
	v := x.Visit
	r := visitRow{Day: f.Date(v.On), ISO: v.On.String(), Time: f.Clock(v.Start) + "–" + f.Clock(v.Start+v.Minutes), Who: x.Technician,
		Link: root + "/visits/" + v.ID.String(), Sheet: root + "/days/" + v.On.String() + "/" + v.TechnicianID.String()}
	if v.SiteID.IsZero() {
		r.Site = f.Say("feed.own_time")
		if v.Note != "" {
			r.Site += ": " + v.Note
		}
	} else {
		r.Site, r.Customer, r.SiteLink, r.CustLink = x.Site.Name, x.Customer.Name, root+siteAddress(x.Site.ID), root+customerAddress(x.Customer.ID)
	}
	if x.Doors > 0 {
		r.Doors = counted(f.Words, "page.visit.doors", x.Doors)
	}
	if r.Who == "" {
		r.Who = f.Say("page.visit.nobody")
	}
	return r
}

func siteAddress(id vent.ID) string     { return "/sites/" + id.String() }
func customerAddress(id vent.ID) string { return "/customers/" + id.String() }

// ownDayPage is a technician's own day.
type ownDayPage struct {
	page
	Today  string
	Visits []visitRow
}

// showOwnDay lists where a technician goes; the buildings' runs are a link away.
func (s *server) showOwnDay(w http.ResponseWriter, _ *http.Request, v visitor) error {
	today, visits, err := s.desk.OwnDay(s.by(v), v.person, 60)
	if err != nil {
		return err
	}
	p := ownDayPage{page: s.newPage(v, "today")}
	f := figures{p.Words}
	p.Title, p.Today = p.Say("page.ownday.title"), p.Date(today)
	for _, x := range visits {
		row := f.visitRow(s.root, x)
		row.CustLink = ""
		p.Visits = append(p.Visits, row)
	}
	return s.render(w, http.StatusOK, "ownday", p)
}
