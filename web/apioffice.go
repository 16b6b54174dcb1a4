package web

import (
	"net/http"

	"ventdue/desk"
	"ventdue/vent"
)

// apiOperator is whoever runs this installation.
type apiOperator struct {
	Kind     vent.OperatorKind `json:"kind"`
	Name     string            `json:"name"`
	Zone     string            `json:"zone"` // IANA
	Units    vent.UnitSystem   `json:"units"`
	Language string            `json:"language,omitempty"`
	Email    string            `json:"email,omitempty"`
	Phone    string            `json:"phone,omitempty"`
	Today    vent.Date         `json:"today"` // in the operator's zone
}

func (s *server) apiOperator(w http.ResponseWriter, _ *http.Request, v visitor) error {
	o := s.operator()
	return writeJSON(w, http.StatusOK, apiOperator{Kind: o.Kind, Name: o.Name, Zone: o.Zone, Units: o.Units, Language: o.Language, Email: o.Email, Phone: o.Phone,
		Today: vent.InstantOf(s.by(v).Now).DateIn(zoneOf(o.Zone))})
}

// apiUntold are customers with work due whom no message can reach.
type apiUntold struct {
	Total     int                 `json:"total"`
	Customers []apiUntoldCustomer `json:"customers"`
}

type apiUntoldCustomer struct {
	ID   vent.ID `json:"id"`
	Name string  `json:"name"`
	Why  string  `json:"why,omitempty"` // of the first contact; left out where none is known
}

type apiMaxQuery struct {
	Max int `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

func (s *server) apiUntold(w http.ResponseWriter, r *http.Request, v visitor) error {
	max, err := rowsAsked(r.URL.Query().Get("max"))
	if err != nil {
		return err
	}
	list, total, err := s.desk.Untold(s.by(v), max)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiUntold{Total: total, Customers: each(listed(list), func(u desk.Untold) apiUntoldCustomer {
		return apiUntoldCustomer{ID: u.Customer.ID, Name: u.Customer.Name, Why: u.Why}
	})})
}

type apiNameQuery struct {
	Words string `query:"q" required:"true" description:"words that all occur in the name, address or own key, or an id"`
	Max   int    `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

type apiNames struct {
	Fits []apiNamed `json:"fits"`
}

// apiFind finds what bears a name.
func (s *server) apiFind(kind vent.Kind) handler {
	return func(w http.ResponseWriter, r *http.Request, _ visitor) error {
		max, err := rowsAsked(r.URL.Query().Get("max"))
		if err != nil {
			return err
		}
		words := r.URL.Query().Get("q")
		if words == "" {
			return vent.Problems{{Field: "q", Text: "is missing: say what to find"}}
		}
		fits, err := s.desk.FindNamed(kind, words, max)
		if err != nil {
			return err
		}
		return writeJSON(w, http.StatusOK, apiNames{Fits: each(listed(fits), func(n desk.Named) apiNamed {
			return apiNamed{ID: n.Scope.ID, Name: n.Name, Address: n.Detail}
		})})
	}
}

type apiMailQuery struct {
	Who string `query:"who" description:"id, own key, name or e-mail address of a person or customer; without it everybody"`
	Max int    `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

func (s *server) apiMail(w http.ResponseWriter, r *http.Request, _ visitor) error {
	max, err := rowsAsked(r.URL.Query().Get("max"))
	if err != nil {
		return err
	}
	h, err := s.desk.MailHistory(r.URL.Query().Get("who"), max)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, h)
}

// apiOfficeRoutes names the addresses for what belongs to no single run.
func (s *server) apiOfficeRoutes() []route {
	const office, read = vent.Office, vent.TokenRead
	return []route{
		apiFor(office, read, "GET /api/operator", s.apiOperator).says(apiDoc{ID: "getOperator", Summary: "Who runs this installation, with today's day there", Out: apiOperator{}}),
		apiFor(office, read, "GET /api/customers", s.apiFind(vent.KindCustomer)).says(apiDoc{ID: "findCustomers", Summary: "Customers by words of their names", Query: apiNameQuery{}, Out: apiNames{}}),
		apiFor(office, read, "GET /api/sites", s.apiFind(vent.KindSite)).says(apiDoc{ID: "findSites", Summary: "Buildings by words of their names and addresses", Query: apiNameQuery{}, Out: apiNames{}}),
		apiFor(office, read, "GET /api/untold", s.apiUntold).says(apiDoc{ID: "listUntold", Summary: "Customers with work due whom no message can reach", Query: apiMaxQuery{}, Out: apiUntold{}}),
		apiFor(office, read, "GET /api/messages", s.apiMail).says(apiDoc{ID: "listMessages", Summary: "What was told to whom, and why something was not; the newest first", Query: apiMailQuery{}, Out: desk.MailHistory{}}),
	}
}
