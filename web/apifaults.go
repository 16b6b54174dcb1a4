package web

import (
	"net/http"

	"ventdue/desk"
	"ventdue/vent"
)

// apiFault is a fault with where it is and what its rule says. How to get in stands nowhere in it.
type apiFault struct {
	Fault    vent.Fault `json:"fault"`
	Run      apiNamed   `json:"run"`
	Site     apiNamed   `json:"site"`
	Unit     *apiNamed  `json:"unit,omitempty"`
	Customer apiNamed   `json:"customer"`
	Looks    string     `json:"looks"`   // what it looks like
	Do       string     `json:"do"`      // what puts it right
	By       string     `json:"by_whom"` // who may put it right
	Sources  []string   `json:"sources"`
	Cautions []string   `json:"cautions"`
	Stage    string     `json:"stage,omitempty"` // how far a stop has come
	Untold   []string   `json:"untold,omitempty"`
	Unacked  []string   `json:"unacknowledged,omitempty"`
}

type apiFaultList struct {
	Total  int        `json:"total"` // that fit, listed or not
	Faults []apiFault `json:"faults"`
}

func faultOf(x desk.FaultView) apiFault {
	out := apiFault{Fault: x.Fault, Run: apiNamed{ID: x.Run.ID, Name: x.Run.Name}, Unit: unitOf(x.Place),
		Site:     apiNamed{ID: x.Site.ID, Name: x.Site.Name, Address: x.Site.Address},
		Customer: apiNamed{ID: x.Customer.ID, Name: x.Customer.Name},
		Looks:    x.Looks, Do: x.Do, By: x.By, Sources: listed(x.Sources), Cautions: listed(x.Cautions), Stage: string(x.Stage)}
	for _, r := range x.Untold {
		out.Untold = append(out.Untold, string(r))
	}
	for _, r := range x.Unacknowledged {
		out.Unacked = append(out.Unacked, string(r))
	}
	return out
}

type apiFaultQuery struct {
	Site     vent.ID `query:"site" description:"only this building's"`
	Customer vent.ID `query:"customer" description:"only this customer's"`
	Run      vent.ID `query:"run" description:"only this run's and its dryers'"`
	Words    string  `query:"q" description:"words that all occur in the names of the place"`
	Closed   bool    `query:"closed" description:"those that were put right as well"`
	Max      int     `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

func (s *server) apiFaults(w http.ResponseWriter, r *http.Request, v visitor) error {
	given := r.URL.Query()
	var p vent.Problems
	q := desk.FaultQuery{Words: given.Get("q"), Closed: given.Get("closed") == "true"}
	for _, kind := range []vent.Kind{vent.KindSite, vent.KindCustomer, vent.KindRun} {
		text := given.Get(string(kind))
		if text == "" {
			continue
		}
		id, err := vent.ParseID(text)
		switch {
		case err != nil:
			p.Add(string(kind), text, "is not an id")
		case kind == vent.KindRun:
			q.Run = id
		default:
			q.Scope = vent.Scope{Kind: kind, ID: id}
		}
	}
	if err := p.Err(); err != nil {
		return err
	}
	var err error
	if q.Max, err = rowsAsked(given.Get("max")); err != nil {
		return err
	}
	views, total, err := s.desk.Faults(s.by(v), q)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiFaultList{Total: total, Faults: each(listed(views), faultOf)})
}

func (s *server) apiFault(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	x, err := s.desk.Fault(s.by(v), id.String())
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, faultOf(x))
}

// What a program may say of a fault.
type (
	apiFix struct {
		By  string    `json:"by" description:"who put it right"`
		How string    `json:"how,omitempty"`
		On  vent.Date `json:"on,omitzero" description:"without it today at the site"`
	}
	apiWaive struct {
		By    string    `json:"by" description:"who declined it"`
		Until vent.Date `json:"until" description:"on this day it comes back"`
		Why   string    `json:"why"`
	}
	apiRelease struct {
		Person   vent.ID   `json:"person,omitzero" description:"one of ours: name and licence are taken from the record"`
		Name     string    `json:"name,omitempty" description:"of anybody else"`
		As       string    `json:"as" description:"licence, trade or authority"`
		Licensed bool      `json:"licensed,omitempty" description:"it is a licence for the work"`
		On       vent.Date `json:"on,omitzero" description:"without it today at the site"`
		What     string    `json:"what" description:"what was found and done"`
	}
	apiTag struct {
		Hangs bool `json:"hangs"`
	}
	apiCall struct {
		Who          string        `json:"who"`
		How          string        `json:"how"`
		At           vent.Instant  `json:"at,omitzero" description:"without it now"`
		Role         vent.CallRole `json:"role,omitempty"`
		Acknowledged bool          `json:"acknowledged,omitempty"`
	}
)

// faultStep makes the handler of one thing that can be done about a fault: it reads what is said, and does it.
func faultStep[In any](s *server, do func(by desk.By, id vent.ID, in In) (desk.FaultView, error)) handler {
	return func(w http.ResponseWriter, r *http.Request, v visitor) error {
		id, err := vent.ParseID(r.PathValue("id"))
		if err != nil {
			return vent.ErrNotFound
		}
		var in In
		if err := readJSON(r, &in); err != nil {
			return err
		}
		x, err := do(s.by(v), id, in)
		if err != nil {
			return err
		}
		return writeJSON(w, http.StatusOK, faultOf(x))
	}
}

// apiFaultRoutes names the addresses for faults.
func (s *server) apiFaultRoutes() []route {
	const office, read, all = vent.Office, vent.TokenRead, vent.TokenAll
	step := func(name, id, summary string, in any, h handler) route {
		return apiFor(office, all, "POST /api/faults/{id}/"+name, h).says(apiDoc{ID: id, Summary: summary, In: in, Out: apiFault{}, Once: true})
	}
	return []route{
		apiFor(office, read, "GET /api/faults", s.apiFaults).says(apiDoc{ID: "listFaults", Summary: "Faults: what must stop first, then by deadline",
			Query: apiFaultQuery{}, Out: apiFaultList{}}),
		apiFor(office, read, "GET /api/faults/{id}", s.apiFault).says(apiDoc{ID: "getFault", Summary: "One fault", Out: apiFault{}}),
		step("fix", "fixFault", "Somebody put the fault right. A stop is refused: release it", apiFix{},
			faultStep(s, func(by desk.By, id vent.ID, in apiFix) (desk.FaultView, error) {
				return s.desk.FixFault(by, id, in.On, in.By, in.How)
			})),
		step("waive", "waiveFault", "Somebody declined to put the fault right before a day, and why", apiWaive{},
			faultStep(s, func(by desk.By, id vent.ID, in apiWaive) (desk.FaultView, error) {
				return s.desk.WaiveFault(by, id, in.By, in.Until, in.Why)
			})),
		step("release", "releaseFault", "A named qualified person lets a stopped dryer be used again", apiRelease{},
			faultStep(s, func(by desk.By, id vent.ID, in apiRelease) (desk.FaultView, error) {
				return s.desk.ReleaseFault(by, id, desk.Release(in))
			})),
		step("tag", "tagFault", "A tag hangs on a stopped dryer, or no longer does", apiTag{},
			faultStep(s, func(by desk.By, id vent.ID, in apiTag) (desk.FaultView, error) {
				return s.desk.TagFault(by, id, in.Hangs)
			})),
		step("calls", "noteCall", "Somebody was told of a stop, and whether they acknowledged", apiCall{},
			faultStep(s, func(by desk.By, id vent.ID, in apiCall) (desk.FaultView, error) {
				return s.desk.NoteCall(by, id, vent.Call{At: in.At, Who: in.Who, How: in.How, Ackd: in.Acknowledged, Role: in.Role})
			})),
	}
}
