package web

import (
	"fmt"
	"net/http"
	"strings"

	"ventdue/desk"
	"ventdue/vent"
)

// apiTechnician is somebody for whom visits are planned.
type apiTechnician struct {
	ID          vent.ID    `json:"id"`
	Name        string     `json:"name"`
	Email       string     `json:"email,omitempty"`
	Phone       string     `json:"phone,omitempty"`
	Zone        string     `json:"zone,omitempty"` // IANA; none: the operator's
	Hours       string     `json:"work_hours,omitempty"`
	Skills      []string   `json:"skills"`
	Home        *apiPoint  `json:"home,omitempty"`
	Leave       []apiLeave `json:"leave"`
	RunMinutes  int        `json:"run_minutes,omitempty"`  // for one run; none: as usual
	TripMinutes int        `json:"trip_minutes,omitempty"` // for every trip beside its runs; none: as usual
	MaxDues     int        `json:"max_dues,omitempty"`     // on one day; none: as much as fits
}

type apiPoint struct {
	Lat float64 `json:"lat" minimum:"-90" maximum:"90"`
	Lon float64 `json:"lon" minimum:"-180" maximum:"180"`
}

// apiLeave is days on which a technician does not work, the first and the last included.
type apiLeave struct {
	From vent.Date `json:"from"`
	To   vent.Date `json:"to"`
}

// apiTechnicianSet changes how somebody works; what is left out stays as it is.
type apiTechnicianSet struct {
	Name        string      `json:"name,omitempty" description:"of a new technician, or of one who is known; name or email is needed"`
	Email       string      `json:"email,omitempty"`
	Phone       *string     `json:"phone,omitempty"`
	Zone        *string     `json:"zone,omitempty" description:"IANA"`
	Hours       *string     `json:"work_hours,omitempty" description:"such as: mon-fri 08:00-16:30"`
	Skills      *[]string   `json:"skills,omitempty"`
	Home        *apiPoint   `json:"home,omitempty"`
	Leave       *[]apiLeave `json:"leave,omitempty" description:"all of it: it takes the place of what was"`
	RunMinutes  *int        `json:"run_minutes,omitempty"`
	TripMinutes *int        `json:"trip_minutes,omitempty"`
	MaxDues     *int        `json:"max_dues,omitempty"`
}

type apiTechnicianList struct {
	Technicians []apiTechnician `json:"technicians"`
}

// apiBlock is a part of a technician's day that is their own.
type apiBlock struct {
	On   vent.Date `json:"on"`
	From int       `json:"from_minutes" minimum:"0" maximum:"1439" description:"after midnight where the technician is"`
	To   int       `json:"to_minutes" minimum:"1" maximum:"1440"`
	Note string    `json:"note,omitempty"`
}

func technicianOf(p vent.Person) apiTechnician {
	x := apiTechnician{ID: p.ID, Name: p.Name, Email: p.Email, Phone: p.Phone, Zone: p.Zone, Hours: p.Hours.String(), Skills: listed(p.Skills),
		Leave: each(p.Leave, func(l vent.Leave) apiLeave { return apiLeave(l) }), RunMinutes: p.RunMinutes, TripMinutes: p.TripMinutes, MaxDues: p.MaxDues}
	if p.Home != nil {
		x.Home = &apiPoint{p.Home.Lat, p.Home.Lon}
	}
	return x
}

func (s *server) apiTechnicians(w http.ResponseWriter, _ *http.Request, _ visitor) error {
	all, err := s.desk.Technicians()
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiTechnicianList{Technicians: each(all, technicianOf)})
}

// put writes what is given into a person.
func put[T any](into *T, given *T) {
	if given != nil {
		*into = *given
	}
}

func (s *server) apiSetTechnician(w http.ResponseWriter, r *http.Request, v visitor) error {
	var in apiTechnicianSet
	if err := readJSON(r, &in); err != nil {
		return err
	}
	var p vent.Problems
	in.Name, in.Email = strings.TrimSpace(in.Name), strings.TrimSpace(in.Email)
	if in.Name == "" && in.Email == "" {
		p.Add("name", "", "is missing: give a name or an e-mail address")
	}
	var hours vent.Week
	if in.Hours != nil {
		var err error
		if hours, err = vent.ParseWeek(*in.Hours); err != nil {
			p.Add("work_hours", *in.Hours, "%v", err)
		}
	}
	if err := p.Err(); err != nil {
		return err
	}
	x, err := s.desk.SetTechnician(s.by(v), in.Name, in.Email, func(x *vent.Person) {
		put(&x.Phone, in.Phone)
		put(&x.Zone, in.Zone)
		put(&x.Skills, in.Skills)
		put(&x.RunMinutes, in.RunMinutes)
		put(&x.TripMinutes, in.TripMinutes)
		put(&x.MaxDues, in.MaxDues)
		if in.Hours != nil {
			x.Hours = hours
		}
		if in.Home != nil {
			x.Home = &vent.Point{Lat: in.Home.Lat, Lon: in.Home.Lon}
		}
		if in.Leave != nil {
			x.Leave = each(*in.Leave, func(l apiLeave) vent.Leave { return vent.Leave(l) })
		}
	})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, technicianOf(x))
}

func (s *server) apiBlockTime(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	var in apiBlock
	if err := readJSON(r, &in); err != nil {
		return err
	}
	var p vent.Problems
	if in.On == 0 {
		p.Add("on", "", "is missing")
	}
	if in.From < 0 || in.From >= 24*60 {
		p.Add("from_minutes", fmt.Sprint(in.From), "must be from 0 to %d", 24*60-1)
	}
	if in.To <= in.From || in.To > 24*60 {
		p.Add("to_minutes", fmt.Sprint(in.To), "must be after from_minutes and at most %d", 24*60)
	}
	if err := p.Err(); err != nil {
		return err
	}
	change, err := s.desk.BlockTime(s.by(v), id, in.On, vent.Span{From: in.From, To: in.To}, in.Note)
	if err != nil {
		return err
	}
	if change.Known {
		return s.writeChange(w, v, http.StatusOK, change)
	}
	return s.writeChange(w, v, http.StatusCreated, change)
}

// apiDay is a technician's day. Codes and keys are in it for the technician who is signed in, on the day itself, and for nobody else.
type apiDay struct {
	Technician apiNamed  `json:"technician"`
	On         vent.Date `json:"on"`
	Today      vent.Date `json:"today"` // where the technician is
	Stops      []apiStop `json:"stops"`
}

type apiStop struct {
	Visit  apiVisit    `json:"visit"`
	Point  *apiPoint   `json:"point,omitempty"`
	Access apiAccess   `json:"access"`
	Phones []apiCalled `json:"phones"` // of those behind the doors
	Runs   []apiDayRun `json:"runs"`
}

type apiAccess struct {
	Note    string `json:"note,omitempty"`
	Parking string `json:"parking,omitempty"`
	Keys    string `json:"keys,omitempty"`
	Codes   string `json:"codes,omitempty"`
	Dog     bool   `json:"dog,omitempty"`
	Ladder  bool   `json:"ladder,omitempty"`
	Roof    bool   `json:"roof,omitempty"`
}

type apiCalled struct {
	Name  string `json:"name"`
	Phone string `json:"phone"`
}

// apiDayRun is a run that a stop is for.
type apiDayRun struct {
	ID     vent.ID   `json:"id"`
	Name   string    `json:"name"`
	Unit   *apiNamed `json:"unit,omitempty"`
	Last   vent.Date `json:"last_finding,omitzero"`
	Faults []string  `json:"open_faults"` // ids of rules
	Bring  []string  `json:"bring"`
}

func (s *server) apiDay(w http.ResponseWriter, r *http.Request, v visitor) error {
	technician, err := vent.ParseID(r.PathValue("technician"))
	if err != nil {
		return vent.ErrNotFound
	}
	on, err := vent.ParseDate(r.PathValue("date"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := ownOrOffice(v, technician); err != nil {
		return err
	}
	sheet, err := s.desk.DaySheet(s.by(v), technician, on, v.person)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiDay{Technician: apiNamed{ID: sheet.Technician.ID, Name: sheet.Technician.Name}, On: on, Today: sheet.Today,
		Stops: each(sheet.Stops, func(x desk.SheetStop) apiStop { return s.stopOf(v, x) })})
}

func (s *server) stopOf(v visitor, x desk.SheetStop) apiStop {
	a := x.Site.Access
	out := apiStop{Visit: s.visitFor(v, x.TripView), Phones: []apiCalled{}, Runs: []apiDayRun{},
		Access: apiAccess{Note: a.Note, Parking: a.Parking, Keys: a.Keys, Codes: a.Codes, Dog: a.Dog, Ladder: a.Ladder, Roof: a.Roof}}
	if x.Site.Lat != nil && x.Site.Lon != nil {
		out.Point = &apiPoint{*x.Site.Lat, *x.Site.Lon}
	}
	for _, d := range x.Doors {
		if d.Occupant.Phone != "" {
			out.Phones = append(out.Phones, apiCalled{d.Occupant.Name, d.Occupant.Phone})
		}
		for _, run := range d.Runs {
			out.Runs = append(out.Runs, apiDayRun{ID: run.Run.ID, Name: run.Label(), Unit: unitOf(run.Place), Last: run.Last.Date, Bring: listed(run.Bring),
				Faults: each(run.Faults, func(f vent.Fault) string { return f.Rule })})
		}
	}
	return out
}

// apiTechnicianRoutes names the addresses for those who make visits.
func (s *server) apiTechnicianRoutes() []route {
	const office, technician, read, all = vent.Office, vent.Technician, vent.TokenRead, vent.TokenAll
	return []route{
		apiFor(office, read, "GET /api/technicians", s.apiTechnicians).says(apiDoc{ID: "listTechnicians", Summary: "Everybody for whom visits are planned", Out: apiTechnicianList{}}),
		apiFor(office, all, "POST /api/technicians", s.apiSetTechnician).says(apiDoc{ID: "setTechnician", Once: true, In: apiTechnicianSet{}, Out: apiTechnician{},
			Summary: "Make somebody a technician, or change how one works: the one with the e-mail address, else with the name"}),
		apiFor(office, all, "POST /api/technicians/{id}/blocks", s.apiBlockTime).says(apiDoc{ID: "blockTime", Once: true, In: apiBlock{}, Out: apiVisitChange{},
			Status: []int{http.StatusCreated, http.StatusOK}, Summary: "Take a part of a technician's day for their own. The same again is answered with 200"}),
		apiFor(technician, read, "GET /api/days/{date}/{technician}", s.apiDay).says(apiDoc{ID: "getDay", Out: apiDay{},
			Summary: "A technician's day sheet. Codes and keys are for the signed-in technician alone, on the day itself"}),
	}
}
