package web

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// sitePage is a building: its doors in one picture, and what belongs to it.
type sitePage struct {
	page
	Name, Address, Customer, CuLink        string
	Access                                 []string
	Tally                                  []string
	Floors                                 []floor
	Ended                                  string
	Dues, Record, Checks, Labels, Calendar string // addresses
	Visits                                 []visitRow
	Feeds                                  []string
	Office                                 bool // may go on to the pages of the office
}

// floor is one row of doors, the highest on top.
type floor struct {
	Name  string // "" where no floors are known
	Doors []doorTile
}

// doorTile is one run behind its door.
type doorTile struct {
	State, StateWord, Name, Link string
	Next, ISO                    string // what comes and when; "" where nothing does
	Faults                       string
}

func (s *server) showSite(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	view, err := s.desk.Site(s.by(v), id)
	if err != nil {
		return err
	}
	p := sitePage{page: s.newPage(v, "due"), Name: view.Site.Name, Address: view.Site.Address, Customer: view.Customer.Name, CuLink: s.root + customerAddress(view.Customer.ID)}
	f := figures{p.Words}
	p.Title, p.Office = p.Name, v.role.May(vent.Office)
	if p.Address == p.Name {
		p.Address = ""
	}
	p.Access = f.access(view.Site.Access.Public())
	at := s.root + siteAddress(id)
	p.Dues, p.Record, p.Labels = s.root+"/due?site="+id.String(), at+"/record", s.root+"/labels?site="+id.String()
	p.Checks = s.root + checksAddress(id)
	p.Calendar = s.root + "/feeds?" + url.Values{"scope": {"site"}, "which": {id.String()}}.Encode() + "#new"
	p.Floors, p.Tally = f.floors(s.root, view.SiteService)
	if view.Ended > 0 {
		p.Ended = counted(p.Words, "page.paper.ended", view.Ended)
	}
	for _, x := range view.Visits {
		p.Visits = append(p.Visits, f.visitRow(s.root, x))
	}
	for _, x := range view.Feeds {
		p.Feeds = append(p.Feeds, x.Name)
	}
	return s.render(w, http.StatusOK, "site", p)
}

// floors puts the doors of a building on their floors, and counts their states.
func (f figures) floors(root string, b desk.SiteService) (all []floor, tally []string) {
	counts := map[string]int{}
	words := map[string]string{}
	for _, x := range b.Runs {
		tile := doorTile{Name: cmp.Or(roomIn(x.Place), x.Run.Name), Link: root + "/runs/" + x.Run.ID.String()}
		tile.State, tile.StateWord = f.standing(x.Dues, x.Faults, b.Today)
		counts[tile.State]++
		words[tile.State] = tile.StateWord
		if dues := inTurn(x.Dues); len(dues) > 0 {
			tile.Next, tile.ISO = f.Say("page.paper.next", "what", f.What(dues[0]), "date", f.Date(dues[0].Day)), dues[0].Day.String()
		}
		open := 0
		for _, y := range x.Faults {
			if standsOpen(y, b.Today) {
				open++
			}
		}
		if open > 0 {
			tile.Faults = counted(f.Words, "page.site.faults", open)
		}
		i := slices.IndexFunc(all, func(y floor) bool { return y.Name == x.Unit.Floor })
		if i < 0 {
			all, i = append(all, floor{Name: x.Unit.Floor}), len(all)
		}
		all[i].Doors = append(all[i].Doors, tile)
	}
	slices.SortStableFunc(all, func(a, b floor) int { return height(b.Name) - height(a.Name) })
	for i := range all {
		if all[i].Name != "" {
			all[i].Name = f.Say("page.site.floor", "floor", all[i].Name)
		}
	}
	for _, state := range []string{"stop", "overdue", "unknown", "soon", "later", "done"} {
		if counts[state] > 0 {
			tally = append(tally, f.Say("page.paper.tally", "n", wording.Grouped(counts[state]), "state", words[state]))
		}
	}
	return all, tally
}

// height orders floors by the number in their name; those without one lie at the bottom.
func height(name string) int {
	n, err := strconv.Atoi(name)
	if err != nil {
		return -1 << 20
	}
	return n
}

// customerPage is a customer with their buildings, people and calendars.
type customerPage struct {
	page
	Name, Note, Ended string
	Persons           []personRow
	Sites             []siteRow
	Feeds             []string
	Dues, Calendar    string // addresses
	Approvals         []string
}

type personRow struct{ Name, Link, Email, Phone, Why string }

// siteRow is one building of a customer.
type siteRow struct{ Name, Address, Link, Runs, State, StateWord, Next, Counts string }

func (s *server) showCustomer(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	view, err := s.desk.Customer(s.by(v), id)
	if err != nil {
		return err
	}
	p := customerPage{page: s.newPage(v, "due"), Name: view.Customer.Name, Note: view.Customer.Note}
	f := figures{p.Words}
	p.Title = p.Name
	p.Dues = s.root + "/due?customer=" + id.String()
	p.Calendar = s.root + "/feeds?" + url.Values{"scope": {"customer"}, "which": {id.String()}}.Encode() + "#new"
	if view.Customer.Ended != 0 {
		p.Ended = f.Say("page.customer.ended", "date", f.Date(view.Customer.Ended))
	}
	for _, x := range view.Persons {
		p.Persons = append(p.Persons, personRow{x.Person.Name, s.root + "/people/" + x.Person.ID.String() + "/mail", x.Person.Email, x.Person.Phone, x.Why})
	}
	for _, x := range view.Sites {
		row := siteRow{Name: x.Site.Name, Link: s.root + siteAddress(x.Site.ID), Runs: counted(f.Words, "page.customer.runs", x.Runs), State: "done", StateWord: f.Say("page.paper.nothing")}
		if x.Site.Address != x.Site.Name {
			row.Address = x.Site.Address
		}
		if !x.Next.ID.IsZero() {
			row.State = wording.StateKey(x.Next, view.Today)
			row.StateWord = f.Say("state." + row.State)
			row.Next = f.Say("page.paper.next", "what", f.What(x.Next), "date", f.Date(x.Next.Day))
			row.Counts = counted(f.Words, "page.customer.dues", x.Counts.All)
		}
		p.Sites = append(p.Sites, row)
	}
	for _, x := range view.Feeds {
		p.Feeds = append(p.Feeds, x.Name)
	}
	for _, x := range view.Customer.Approvals {
		key := "page.customer.declined"
		if x.Accepted {
			key = "page.customer.accepted"
		}
		p.Approvals = append(p.Approvals, f.Say(key, "what", x.What, "who", x.By, "date", f.Date(x.On)))
	}
	return s.render(w, http.StatusOK, "customer", p)
}
