package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/scheduler"
	"ventdue/scheduler/faults"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// How many dues a program gets where it does not say, and the most it may ask for at a time.
const (
	apiRows    = 100
	apiMaxRows = 1000
)

// The types below are what programs see. They are apart from what is stored, so that either can change alone: a name
// is for ever, a field may be added. Figures are SI; sentences are in the operator's language and units.

type apiDueList struct {
	Today  vent.Date `json:"today"`
	Counts apiCounts `json:"counts"`
	Dues   []apiDue  `json:"dues"`
	Next   string    `json:"next,omitempty"` // address of the next page
}

type apiCounts struct {
	All     int `json:"all"`
	Stop    int `json:"stop"`
	Unknown int `json:"unknown"`
	Overdue int `json:"overdue"`
	Soon    int `json:"soon"`
	Later   int `json:"later"`
}

type apiDue struct {
	ID           vent.ID       `json:"id"`
	RunID        vent.ID       `json:"run_id,omitzero"` // none: recurring checks of a site, see subject
	Subject      vent.Subject  `json:"subject"`
	Kind         vent.DueKind  `json:"kind"`
	Day          vent.Date     `json:"day"`
	Earliest     vent.Date     `json:"earliest"`
	Latest       vent.Date     `json:"latest"`
	State        string        `json:"state"` // stop, unknown, overdue, soon, later
	Severity     vent.Severity `json:"severity,omitempty"`
	CleanUnknown bool          `json:"last_cleaning_unknown,omitempty"`
	Text         string        `json:"text"`
	Reasons      []string      `json:"reasons"`
	Figures      []string      `json:"figures,omitempty"` // the numbers, in words
	Numbers      vent.Reason   `json:"numbers"`
	UID          string        `json:"uid"`
	Site         *apiNamed     `json:"site,omitempty"`
	Unit         *apiNamed     `json:"unit,omitempty"`
	Customer     *apiNamed     `json:"customer,omitempty"`
}

type apiNamed struct {
	ID      vent.ID `json:"id"`
	Name    string  `json:"name"`
	Address string  `json:"address,omitempty"`
}

func (s *server) apiDues(w http.ResponseWriter, r *http.Request, v visitor) error {
	q, err := boardQuery(r.URL.Query())
	if err != nil {
		return err
	}
	if q.Max, err = rowsAsked(r.URL.Query().Get("max")); err != nil {
		return err
	}
	b, err := s.desk.Board(s.by(v), q)
	if err != nil {
		return err
	}
	words := s.words(v)
	list := apiDueList{Today: b.Today, Counts: apiCounts(b.Counts), Dues: []apiDue{}}
	for _, d := range b.Dues {
		list.Dues = append(list.Dues, placedDue(words, d, b.Today))
	}
	if b.Next != nil {
		next := r.URL.Query()
		next.Set("from", b.Next.From.String())
		next.Set("skip", strconv.Itoa(b.Next.Skip))
		list.Next = s.root + "/api/dues?" + next.Encode()
	}
	return writeJSON(w, http.StatusOK, list)
}

func rowsAsked(given string) (int, error) {
	if given == "" {
		return apiRows, nil
	}
	n, err := strconv.Atoi(given)
	if err != nil || n < 1 || n > apiMaxRows {
		var p vent.Problems
		p.Add("max", given, "must be a count from 1 to %d", apiMaxRows)
		return 0, p
	}
	return n, nil
}

func dueOf(words wording.Words, d vent.Due, today vent.Date) apiDue {
	x := apiDue{ID: d.ID, Subject: d.Subject, Kind: d.Kind, Day: d.Day, Earliest: d.Earliest, Latest: d.Latest,
		State: wording.StateKey(d, today), Severity: d.Severity, CleanUnknown: d.Unknown, Text: words.What(d),
		Reasons: words.Reason(d), Figures: words.Numbers(d), Numbers: d.Reason, UID: d.UID}
	if d.Subject.Kind == vent.KindRun {
		x.RunID = d.Subject.ID
	}
	return x
}

func placedDue(words wording.Words, d desk.DueView, today vent.Date) apiDue {
	x := dueOf(words, d.Due, today)
	x.Site = &apiNamed{ID: d.Site.ID, Name: d.Site.Name, Address: d.Site.Address}
	x.Customer = &apiNamed{ID: d.Customer.ID, Name: d.Customer.Name}
	x.Unit = unitOf(d.Place)
	return x
}

func unitOf(p desk.Place) *apiNamed {
	if p.Unit.ID.IsZero() {
		return nil
	}
	return &apiNamed{ID: p.Unit.ID, Name: p.Unit.Name}
}

// apiRunView is one run. The run, its dryer and its history have the form in which they are exported.
type apiRunView struct {
	Today    vent.Date       `json:"today"` // at the site
	Run      vent.Run        `json:"run"`
	Dryer    *vent.Appliance `json:"dryer,omitempty"`
	Site     apiNamed        `json:"site"`
	Unit     *apiNamed       `json:"unit,omitempty"`
	Customer apiNamed        `json:"customer"`
	Dues     []apiDue        `json:"dues"`
	Findings []vent.Finding  `json:"findings"` // newest first, corrected ones included
	Signs    []vent.Sign     `json:"signs"`
	Faults   []vent.Fault    `json:"faults"`
	Cautions []string        `json:"cautions"`

	Flow     scheduler.Course `json:"flow"`              // over time: what the picture is drawn from
	FlowText string           `json:"flow_text"`         // what the picture shows, in words
	Picture  string           `json:"picture"`           // its address (svg)
	Sharper  string           `json:"sharper,omitempty"` // what would make the date surer
	Doubts   []apiDoubt       `json:"doubts"`            // what cannot be judged as it is recorded
}

// apiDoubt is a fault rule that could not be judged, and what is missing for it.
type apiDoubt struct {
	Rule string `json:"rule"`
	Why  string `json:"why"`
}

func (s *server) apiRun(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	words := s.words(v)
	x := apiRunView{Today: view.Today, Run: view.Run, Unit: unitOf(view.Place),
		Site:     apiNamed{ID: view.Site.ID, Name: view.Site.Name, Address: view.Site.Address},
		Customer: apiNamed{ID: view.Customer.ID, Name: view.Customer.Name},
		Dues:     duesOf(words, view.Dues, view.Today),
		Findings: listed(view.Findings), Signs: listed(view.Signs), Faults: listed(view.Faults),
		Cautions: words.Cautions(view.Dryer, view.Run.Current())}
	if !view.Dryer.ID.IsZero() {
		x.Dryer = &view.Dryer
	}
	if x.Flow, err = s.desk.Course(s.by(v), view.Run.ID); err != nil {
		return err
	}
	sharper, err := s.desk.Sharpen(s.by(v), view.Run.ID)
	if err != nil {
		return err
	}
	doubts, err := s.desk.Doubts(s.by(v), view.Run.ID)
	if err != nil {
		return err
	}
	x.Doubts = each(doubts, func(d faults.Doubt) apiDoubt { return apiDoubt{d.Rule, d.Why} })
	x.FlowText, x.Picture, x.Sharper = flowPicture(view, x.Flow).Text(words), s.root+flowAddress(view), words.Sharper(sharper)
	return writeJSON(w, http.StatusOK, x)
}

func duesOf(words wording.Words, dues []vent.Due, today vent.Date) []apiDue {
	all := make([]apiDue, len(dues))
	for i, d := range dues {
		all[i] = dueOf(words, d, today)
	}
	return all
}

// listed gives an empty list where there is none, so that a program always finds a list.
func listed[T any](all []T) []T {
	if all == nil {
		return []T{}
	}
	return all
}

// apiFinding is what a program may say of one look. Value is SI and must be given.
type apiFinding struct {
	Date       vent.Date       `json:"date"`
	Source     string          `json:"source,omitempty"` // with run and date the finding's key; "" is "visit"
	By         apiDoer         `json:"by"`
	Outcome    vent.Outcome    `json:"outcome"`
	Reach      vent.Reach      `json:"reach,omitempty"`
	LintBefore vent.Grade      `json:"lint_before,omitempty"`
	LintAfter  vent.Grade      `json:"lint_after,omitempty"`
	Before     []apiReading    `json:"before,omitempty"`
	After      []apiReading    `json:"after,omitempty"`
	Note       string          `json:"note,omitempty"`
	Sudden     bool            `json:"sudden,omitempty"`
	Loads      int64           `json:"load_counter,omitempty"`
	Symptom    vent.Symptom    `json:"symptom,omitempty"`
	Faults     []string        `json:"faults,omitempty"`    // ids of rules that were seen
	Fixed      []string        `json:"fixed,omitempty"`     // ids of rules that were put right
	CloseOut   []string        `json:"close_out,omitempty"` // ids of its lines
	Parts      []apiPart       `json:"parts,omitempty"`
	Photos     []apiPhotoNamed `json:"photos,omitempty"` // as POST /api/photos answered; only sha256 and name are read
}

// apiDoer is who did it.
type apiDoer struct {
	Kind     vent.DoerKind `json:"kind"`
	Name     string        `json:"name,omitempty"`
	PersonID vent.ID       `json:"person_id,omitzero"`
}

// apiPhotoNamed names a photo that was sent before. What else POST /api/photos answered may be sent back; it is not read.
type apiPhotoNamed struct {
	SHA256 string `json:"sha256"`
	Name   string `json:"name,omitempty"`
	Type   string `json:"type,omitempty"`
	Bytes  int64  `json:"bytes,omitempty"`
}

// apiPart is the check of one part of the dryer.
type apiPart struct {
	Part     string      `json:"part"`
	Result   string      `json:"result"`
	Reading  *apiReading `json:"reading,omitempty"`
	Replaced bool        `json:"replaced,omitempty"`
	Note     string      `json:"note,omitempty"`
}

type apiReading struct {
	Quantity   vent.Quantity    `json:"quantity"`
	Value      *float64         `json:"value" description:"the figure in SI: air_speed in m/s, static_pressure in Pa, flow in m³/s, exhaust_temp in °C, flap as the share open, drying_minutes in minutes, lint_mass in kg, ohms in Ω"`
	Given      string           `json:"given,omitempty" description:"as it was read off, for the record alone, such as 1480 fpm"`
	Instrument string           `json:"instrument,omitempty"`
	Place      string           `json:"place,omitempty"`
	Conditions []vent.Condition `json:"conditions,omitempty"`
	Doubt      float64          `json:"doubt,omitempty"`
}

// apiRecorded is what recording a finding brought about.
type apiRecorded struct {
	Finding vent.Finding `json:"finding"`
	Known   bool         `json:"known"`   // the very same finding was recorded before
	Dues    []apiDue     `json:"dues"`    // open ones of the run afterwards
	Faults  []vent.Fault `json:"faults"`  // that it raised, changed or closed, the gravest first
	Missing []string     `json:"missing"` // still to be confirmed before the visit is done
}

func (s *server) apiRecord(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	x, err := s.readFinding(r, view.Run.ID)
	if err != nil {
		return err
	}
	out, err := s.desk.Record(s.by(v), x)
	if err != nil {
		return err
	}
	return s.writeRecorded(w, v, out)
}

func (s *server) apiCorrect(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	old, err := s.desk.FindingService(s.by(v), id)
	if err != nil {
		return err
	}
	x, err := s.readFinding(r, old.Run.ID)
	if err != nil {
		return err
	}
	out, err := s.desk.Correct(s.by(v), id, x)
	if err != nil {
		return err
	}
	return s.writeRecorded(w, v, out)
}

func (s *server) readFinding(r *http.Request, run vent.ID) (x vent.Finding, err error) {
	var in apiFinding
	if err := readJSON(r, &in); err != nil {
		return x, err
	}
	if x, err = in.finding(run); err != nil {
		return x, err
	}
	x.Photos, err = s.namedPhotos(in.Photos)
	return x, err
}

func (s *server) writeRecorded(w http.ResponseWriter, v visitor, out desk.Recorded) error {
	view, err := s.desk.Run(s.by(v), out.Finding.RunID)
	if err != nil {
		return err
	}
	status := http.StatusCreated
	if out.Known {
		status, out.Dues = http.StatusOK, view.Dues
	}
	words := s.words(v)
	w.Header().Set("Location", s.root+"/api/runs/"+view.Run.ID.String())
	return writeJSON(w, status, apiRecorded{Finding: out.Finding, Known: out.Known, Dues: duesOf(words, out.Dues, view.Today), Faults: listed(out.Faults),
		Missing: each(listed(out.Missing), func(l rules.CloseLine) string { return l.Text })})
}

func (in apiFinding) finding(run vent.ID) (vent.Finding, error) {
	var p vent.Problems
	x := vent.Finding{RunID: run, Date: in.Date, Source: in.Source, By: vent.Doer(in.By), Outcome: in.Outcome, Reach: in.Reach,
		LintBefore: in.LintBefore, LintAfter: in.LintAfter, Note: in.Note, Sudden: in.Sudden, LoadCounter: in.Loads,
		Symptom: in.Symptom, Faults: in.Faults, Fixed: in.Fixed, CloseOut: in.CloseOut,
		Before: readingsOf(&p, "before", in.Before), After: readingsOf(&p, "after", in.After)}
	for _, part := range in.Parts {
		c := vent.PartCheck{Part: part.Part, Result: part.Result, Replaced: part.Replaced, Note: part.Note}
		if part.Reading != nil {
			if r := readingsOf(&p, "parts."+part.Part, []apiReading{*part.Reading}); len(r) == 1 {
				c.Reading = &r[0]
			}
		}
		x.Parts = append(x.Parts, c)
	}
	if x.Source == "" {
		x.Source = sourceVisit
	}
	return x, p.Err()
}

func readingsOf(p *vent.Problems, part string, in []apiReading) []vent.Reading {
	var all []vent.Reading
	for i, r := range in {
		if r.Value == nil {
			p.Add(fmt.Sprintf("%s[%d].value", part, i), "", "is missing: give the figure in SI, such as 7.5 for an air_speed of 7.5 m/s")
			continue
		}
		all = append(all, vent.Reading{Quantity: r.Quantity, Value: *r.Value, Given: r.Given, Instrument: r.Instrument,
			Place: r.Place, Conditions: r.Conditions, Doubt: r.Doubt})
	}
	return all
}

// readJSON reads one JSON object and nothing else. An unknown field is refused: it would be lost unnoticed.
func readJSON(r *http.Request, into any) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return refusal{status: http.StatusUnsupportedMediaType, key: "json"}
	}
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, err = d.Token(); errors.Is(err, io.EOF) {
			return nil
		}
		err = errors.New("there is more after the object")
	}
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return unreadable{fmt.Sprintf("the body cannot be read as JSON of the documented fields: %v", err)}
}

func writeJSON(w http.ResponseWriter, status int, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(append(data, '\n')) // whoever asked may have gone
	return nil
}
