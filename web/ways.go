package web

import "ventdue/vent"

// way is one way to another part of the house, in the frame of every page.
type way struct {
	Name, Link string
	Current    bool
}

// mainWays are the parts of the house with the least role that comes there, in the order of a working day. The text is
// page.nav.<here>.
var mainWays = []struct {
	here, path string
	role       vent.Role
}{
	{"due", "/", vent.Office},
	{"feeds", "/feeds", vent.Office},
	{"mail", "/mail", vent.Office},
	{"import", "/import", vent.Office},
	{"accounts", "/accounts", vent.Owner},
	{"tokens", "/tokens", vent.Owner},
	{"me", "/me", vent.Technician},
}

// ways lists where a visitor may go; here is the part that the page belongs to.
func (s *server) ways(v visitor, here string) (all []way) {
	words := s.words(v)
	for _, x := range mainWays {
		if v.role.May(x.role) && (x.here != "me" || v.account != nil) {
			all = append(all, way{Name: words.Say("page.nav." + x.here), Link: s.root + x.path, Current: x.here == here})
		}
	}
	return all
}
