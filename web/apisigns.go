package web

import (
	"net/http"

	"ventdue/vent"
)

// apiSign is what somebody noticed between visits.
type apiSign struct {
	Kind vent.SignKind `json:"kind"`
	By   string        `json:"by,omitempty"`
	Note string        `json:"note,omitempty"`
	On   vent.Date     `json:"on,omitzero" description:"without it today at the site"`
}

// apiSignTaken says what whoever told it is to do: Say first.
type apiSignTaken struct {
	Sign      vent.Sign   `json:"sign"`
	Say       string      `json:"say"`
	Emergency bool        `json:"emergency"` // stop, leave, call the emergency number: show this before anything else
	Cautions  []string    `json:"cautions"`
	Due       vent.Date   `json:"due"` // by when somebody looks into it
	Fault     *vent.Fault `json:"fault,omitempty"`
	Known     bool        `json:"known"` // the same was told before and stands: nothing was changed
}

func (s *server) apiSign(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	var in apiSign
	if err := readJSON(r, &in); err != nil {
		return err
	}
	out, err := s.desk.ReportSign(s.by(v), vent.Sign{RunID: id, Kind: in.Kind, By: in.By, Note: in.Note, On: in.On})
	if err != nil {
		return err
	}
	taken := apiSignTaken{Sign: out.Sign, Say: out.Say, Emergency: out.Emergency, Cautions: listed(out.Cautions), Due: out.Due, Known: out.Known}
	if !out.Fault.ID.IsZero() {
		taken.Fault = &out.Fault
	}
	status := http.StatusCreated
	if out.Known {
		status = http.StatusOK
	}
	return writeJSON(w, status, taken)
}
