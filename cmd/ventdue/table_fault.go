package main

import (
	"context"
	"fmt"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/scheduler/faults"
	"ventdue/vent"
)

// faultLine is a fault as the commands print it and as their --json gives it.
type faultLine struct {
	ID       vent.ID         `json:"id"`
	Rule     string          `json:"rule"`
	Looks    string          `json:"looks"`
	Severity vent.Severity   `json:"severity"`
	State    vent.FaultState `json:"state"`
	Found    vent.Date       `json:"found"`
	Deadline vent.Date       `json:"deadline,omitzero"`
	Until    vent.Date       `json:"until,omitzero"` // put off until
	Closed   vent.Date       `json:"closed,omitzero"`
	ClosedBy string          `json:"closed_by,omitempty"`
	Why      string          `json:"why,omitempty"`
	Note     string          `json:"note,omitempty"`
	ByTool   bool            `json:"by_tool,omitempty"`
	Where    string          `json:"where"`
	Customer string          `json:"customer"`
	Run      vent.ID         `json:"run,omitzero"`
	Do       string          `json:"do,omitempty"`
	ByWhom   string          `json:"by_whom,omitempty"`
	Sources  []string        `json:"sources,omitempty"`
	Cautions []string        `json:"cautions,omitempty"`

	// Of a stop fault: how far it has come, whether a tag hangs, who was told, who is still to be.
	Stage          faults.Stage    `json:"stage,omitempty"`
	Tagged         bool            `json:"tagged,omitempty"`
	Told           []vent.Call     `json:"told,omitempty"`
	Untold         []vent.CallRole `json:"untold,omitempty"`
	Unacknowledged []vent.CallRole `json:"unacknowledged,omitempty"`
	ReleasedAs     string          `json:"released_as,omitempty"`
}

func faultLineOf(v desk.FaultView) faultLine {
	f := v.Fault
	return faultLine{
		ID: f.ID, Rule: f.Rule, Looks: v.Looks, Severity: f.Severity, State: f.State, Found: f.Since(), Deadline: f.Deadline, Until: f.Until,
		Closed: f.Closed, ClosedBy: f.ClosedBy, Why: f.Why, Note: f.Note, ByTool: f.ByTool, Where: v.Label(), Customer: v.Customer.Name, Run: v.Run.ID,
		Do: v.Do, ByWhom: v.By, Sources: v.Sources, Cautions: v.Cautions,
		Stage: v.Stage, Tagged: f.Tagged, Told: f.Told, Untold: v.Untold, Unacknowledged: v.Unacknowledged, ReleasedAs: f.ReleasedAs,
	}
}

func faultLinesOf(views []desk.FaultView) []faultLine {
	out := make([]faultLine, 0, len(views))
	for _, v := range views {
		out = append(out, faultLineOf(v))
	}
	return out
}

type faultsArgs struct {
	Words string `json:"words,omitempty"`
	All   bool   `json:"all,omitempty"` // those that were put right as well
	Max   int    `json:"max,omitempty"`
}

type faultsAnswer struct {
	Faults []faultLine `json:"faults"`
	Total  int         `json:"total"`
}

func (h *house) askFaults(_ context.Context, r call.Request, a faultsArgs) (faultsAnswer, error) {
	views, total, err := h.desk.Faults(by(r), desk.FaultQuery{Words: a.Words, Closed: a.All, Max: a.Max})
	return faultsAnswer{faultLinesOf(views), total}, err
}

// faultArgs is one thing done to one fault; which fields count depends on Do.
type faultArgs struct {
	Fault string    `json:"fault"` // id or its first 8 digits at least
	Do    string    `json:"do"`    // "show", "fix", "waive", "tag", "call", "release"
	Who   string    `json:"who,omitempty"`
	On    vent.Date `json:"on,omitzero"`
	Until vent.Date `json:"until,omitzero"`
	Text  string    `json:"text,omitempty"` // how it was fixed, why it is put off, what was found and done

	Off      bool          `json:"off,omitempty"`      // the tag was taken off
	How      string        `json:"how,omitempty"`      // they were told
	Role     vent.CallRole `json:"role,omitempty"`     // they were told in
	Ackd     bool          `json:"ackd,omitempty"`     // they said so
	As       string        `json:"as,omitempty"`       // by what right it is released
	Licensed bool          `json:"licensed,omitempty"` // that is a licence for the work
	Person   string        `json:"person,omitempty"`   // one of ours who releases it: e-mail address, key or id
}

func (h *house) askFault(_ context.Context, r call.Request, a faultArgs) (faultLine, error) {
	v, err := h.desk.Fault(by(r), a.Fault)
	if err != nil || a.Do == "show" {
		return faultLineOf(v), err
	}
	id := v.Fault.ID
	switch a.Do {
	case "fix":
		v, err = h.desk.FixFault(by(r), id, a.On, a.Who, a.Text)
	case "waive":
		v, err = h.desk.WaiveFault(by(r), id, a.Who, a.Until, a.Text)
	case "tag":
		v, err = h.desk.TagFault(by(r), id, !a.Off)
	case "call":
		v, err = h.desk.NoteCall(by(r), id, vent.Call{Who: a.Who, How: a.How, Role: a.Role, Ackd: a.Ackd})
	case "release":
		rel := desk.Release{Name: a.Who, As: a.As, Licensed: a.Licensed, On: a.On, What: a.Text}
		if a.Person != "" {
			if rel.Person, err = h.desk.FindPerson(a.Person); err != nil {
				return faultLine{}, err
			}
		}
		v, err = h.desk.ReleaseFault(by(r), id, rel)
	default:
		err = fmt.Errorf("do %q to a fault: use show, fix, waive, tag, call or release: %w", a.Do, vent.ErrInvalid)
	}
	return faultLineOf(v), err
}

type signArgs struct {
	Run  string    `json:"run"`
	Sign vent.Sign `json:"sign"`
}

type signAnswer struct {
	Where string         `json:"where"`
	Taken desk.SignTaken `json:"taken"`
}

func (h *house) askSign(_ context.Context, r call.Request, a signArgs) (out signAnswer, err error) {
	if a.Sign.RunID, err = h.desk.FindRun(a.Run); err != nil {
		return out, err
	}
	if out.Taken, err = h.desk.ReportSign(by(r), a.Sign); err != nil {
		return out, err
	}
	v, err := h.desk.Run(by(r), a.Sign.RunID)
	out.Where = v.Label()
	return out, err
}
