package web

import (
	"net/http"

	"ventdue/desk"
	"ventdue/vent"
)

// apiChecks is one thing that a program does to checks of a site.
type apiChecks struct {
	Do      desk.CheckDo `json:"do"`     // done, skip, putoff, set, off or on
	Checks  []string     `json:"checks"` // their ref
	By      string       `json:"by,omitempty"`
	Why     string       `json:"why,omitempty"`
	Date    vent.Date    `json:"date,omitzero"` // of done; none: today
	Until   vent.Date    `json:"until,omitzero"`
	Months  int          `json:"months,omitempty"`
	Made    vent.Date    `json:"made,omitzero"`       // of an alarm that took another's place
	Replace vent.Date    `json:"replace_by,omitzero"` // the same
}

// apiAlarm is one more alarm.
type apiAlarm struct {
	Unit    vent.ID            `json:"unit_id"`
	Kind    vent.ApplianceKind `json:"kind"` // smoke_alarm or co_alarm
	Ref     string             `json:"ref,omitempty"`
	Maker   string             `json:"maker,omitempty"`
	Model   string             `json:"model,omitempty"`
	Made    vent.Date          `json:"made,omitzero"`
	Replace vent.Date          `json:"replace_by,omitzero"`
}

func (s *server) apiShowChecks(w http.ResponseWriter, r *http.Request, v visitor) error {
	sheet, err := s.checksOf(r, v)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, s.words(v).CheckSheet(sheet))
}

func (s *server) apiActOnChecks(w http.ResponseWriter, r *http.Request, v visitor) error {
	var in apiChecks
	if err := readJSON(r, &in); err != nil {
		return err
	}
	sheet, err := s.checksOf(r, v)
	if err == nil {
		err = ofSheet(sheet, in.Checks)
	}
	if err != nil {
		return err
	}
	sheet, err = s.desk.ActOnChecks(s.by(v), in.Checks, desk.CheckAct{Do: in.Do, Who: in.By, Why: in.Why, On: in.Date, Until: in.Until, Months: in.Months, Made: in.Made, Replace: in.Replace})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, s.words(v).CheckSheet(sheet))
}

func (s *server) apiAddAlarm(w http.ResponseWriter, r *http.Request, v visitor) error {
	var in apiAlarm
	if err := readJSON(r, &in); err != nil {
		return err
	}
	sheet, err := s.checksOf(r, v)
	if err != nil {
		return err
	}
	known := false
	for _, u := range sheet.Units {
		known = known || u.ID == in.Unit
	}
	if !known {
		return vent.Problems{{Field: "unit_id", Value: in.Unit.String(), Text: "is no unit of this site"}}
	}
	_, sheet, err = s.desk.AddAlarm(s.by(v), in.Unit, desk.Alarm{Kind: in.Kind, Ref: in.Ref, Maker: in.Maker, Model: in.Model, Made: in.Made, Replace: in.Replace})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusCreated, s.words(v).CheckSheet(sheet))
}
