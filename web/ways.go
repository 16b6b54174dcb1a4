package web

import "ventdue/vent"

// way is one way to another part of the house, in the frame of every page.
type way struct {
	Name, Link string
	Current    bool
}

// mainWays are the parts of the house with the least role that comes there, in the order of a working day; those that are
// not asked for daily lie in a drawer. The text is page.nav.<here>.
var mainWays = []struct {
	here, path string
	role       vent.Role
	drawer     bool
}{
	{"today", "/", vent.Technician, false},
	{"due", "/due", vent.Office, false},
	{"visits", "/visits", vent.Office, false},
	{"month", "/month", vent.Office, false},
	{"find", "/find", vent.Office, false},
	{"mail", "/mail", vent.Office, true},
	{"feeds", "/feeds", vent.Office, true},
	{"labels", "/labels", vent.Office, true},
	{"import", "/import", vent.Office, true},
	{"settings", "/settings", vent.Owner, true},
	{"accounts", "/accounts", vent.Owner, true},
	{"tokens", "/tokens", vent.Owner, true},
	{"me", "/me", vent.Technician, true},
}

// ways lists where a visitor may go; here is the part that the page belongs to.
func (s *server) ways(v visitor, here string) (daily, drawer []way) {
	words := s.words(v)
	for _, x := range mainWays {
		if !v.role.May(x.role) || x.here == "me" && v.account == nil {
			continue
		}
		w := way{Name: words.Say("page.nav." + x.here), Link: s.root + x.path, Current: x.here == here}
		if x.drawer {
			drawer = append(drawer, w)
		} else {
			daily = append(daily, w)
		}
	}
	return daily, drawer
}
