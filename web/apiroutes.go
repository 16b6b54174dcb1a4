package web

import (
	"net/http"
	"slices"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// apiRoutes names every address of the API, who may come, and what its document says. The document itself needs no token.
func (s *server) apiRoutes() []route {
	const office, technician = vent.Office, vent.Technician
	const read, record = vent.TokenRead, vent.TokenRecord
	all := []route{
		{pattern: "GET /api/openapi.json", api: true, handle: s.showAPIDocument},

		apiFor(office, read, "GET /api/dues", s.apiDues).says(apiDoc{ID: "listDues", Summary: "What is due, the most urgent first",
			Query: apiDueQuery{}, Out: apiDueList{}}),
		apiFor(technician, read, "GET /api/runs/{id}", s.apiRun).onDuty().says(apiDoc{ID: "getRun", Summary: "One run with its dryer, history, dues and reasons",
			Out: apiRunView{}}),
		apiFor(technician, record, "POST /api/runs/{id}/findings", s.apiRecord).onDuty().says(apiDoc{ID: "recordFinding", Once: true,
			Summary: "Write down what a look at a run found and did. The same finding again changes nothing and is answered with 200",
			In:      apiFinding{}, Out: apiRecorded{}, Status: []int{http.StatusCreated, http.StatusOK}}),
		apiFor(office, record, "POST /api/findings/{id}/correction", s.apiCorrect).says(apiDoc{ID: "correctFinding", Once: true,
			Summary: "Replace a finding by a better one. The old one stays in the history. The same correction again is answered with 200",
			In:      apiFinding{}, Out: apiRecorded{}, Status: []int{http.StatusCreated, http.StatusOK}}),
		apiFor(technician, record, "POST /api/runs/{id}/signs", s.apiSign).onDuty().says(apiDoc{ID: "reportSign", Once: true,
			Summary: "Write down what somebody noticed. A smell of burning or a CO alarm stops the dryer at once. The same sign again on one day is answered with 200",
			In:      apiSign{}, Out: apiSignTaken{}, Status: []int{http.StatusCreated, http.StatusOK}}),
		apiFor(technician, record, "POST /api/photos", s.apiPhoto).upTo(desk.MaxPhotoBytes + maxBody).says(apiDoc{ID: "sendPhoto",
			Summary: "Send a photo, the body itself; the finding then names it by its sha256. The same photo again is the same one",
			Query:   apiPhotoQuery{}, File: []string{"image/jpeg", "image/png"}, Out: vent.Photo{}, Status: []int{http.StatusCreated}}),
		apiFor(office, read, "GET /api/sites/{id}/checks", s.apiShowChecks).says(apiDoc{ID: "listChecks", Summary: "The recurring checks of a building, in at most five lines",
			Out: wording.CheckSheet{}}),
		apiFor(office, record, "POST /api/sites/{id}/checks", s.apiActOnChecks).says(apiDoc{ID: "actOnChecks", Once: true,
			Summary: "Say that checks were done, leave them out, put them off, set how often they come, turn them off or on",
			In:      apiChecks{}, Out: wording.CheckSheet{}}),
		apiFor(office, record, "POST /api/sites/{id}/alarms", s.apiAddAlarm).says(apiDoc{ID: "addAlarm", Once: true, Summary: "Keep one more smoke or CO alarm of a unit",
			In: apiAlarm{}, Out: wording.CheckSheet{}, Status: []int{http.StatusCreated}}),
	}
	return slices.Concat(all, s.apiFaultRoutes(), s.apiFeedRoutes(), s.apiFileRoutes(), s.apiOfficeRoutes(), s.apiVisitRoutes(), s.apiSlotRoutes(), s.apiTechnicianRoutes(), s.apiPlaceRoutes(), s.apiPeopleRoutes())
}

// What may be asked of addresses. The names are read by their handlers; the types are for the document.
type (
	apiDueQuery struct {
		Show     string  `query:"show" enum:"stop,overdue,soon,later,unknown" description:"a part of the list"`
		Site     vent.ID `query:"site" description:"only this building's"`
		Customer vent.ID `query:"customer" description:"only this customer's"`
		Words    string  `query:"q" description:"words that all occur in the names of site, unit, customer or address"`
		Max      int     `query:"max" minimum:"1" maximum:"1000" default:"100"`
		From     string  `query:"from" description:"where the next page begins; taken from the field next"`
		Skip     int     `query:"skip" description:"taken from the field next"`
	}
	apiPhotoQuery struct {
		Name string `query:"name" description:"what the photo is called"`
	}
)

// showAPIDocument gives what programs can do, in a form that they can read.
func (s *server) showAPIDocument(w http.ResponseWriter, _ *http.Request, _ visitor) error {
	w.Header().Set("Content-Type", "application/json")
	_, err := w.Write(s.apiText)
	return err
}
