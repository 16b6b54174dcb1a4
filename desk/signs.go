package desk

import (
	"fmt"
	"slices"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// SignTaken is what telling of a sign brought about, and what the one who told it reads at once.
type SignTaken struct {
	Sign      vent.Sign  `json:"sign"`
	Say       string     `json:"say"`
	Emergency bool       `json:"emergency"` // stop, leave, call the emergency number: show this before anything else
	Cautions  []string   `json:"cautions"`
	Due       vent.Date  `json:"due"`             // by when somebody looks into it
	Fault     vent.Fault `json:"fault,omitzero"`  // the stop fault that it raised; zero for none
	Known     bool       `json:"known,omitempty"` // the same was told before and stands: nothing was changed
}

// ReportSign writes down what somebody noticed between visits. A smell of burning or a CO alarm stops the dryer at once.
// Moment and day may be left out: now, at the site. The same sign told again on one day changes nothing while it stands.
func (d *Desk) ReportSign(by By, s vent.Sign) (out SignTaken, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = SignTaken{}
		run, err := store.Runs.Get(tx, s.RunID)
		if err != nil {
			return fmt.Errorf("take a sign: %w", err)
		}
		p, err := d.planInput(tx, run)
		if err != nil {
			return fmt.Errorf("take a sign of %s: %w", run.Name, err)
		}
		today := tx.Now().DateIn(zoneOf(p.in.Site.Zone))
		sign, err := dated(s, tx.Now(), today)
		if err != nil {
			return fmt.Errorf("take a sign of %s: %w", run.Name, err)
		}
		if err := d.takeSign(tx, run, p, sign, &out); err != nil {
			return fmt.Errorf("take a sign of %s: %w", run.Name, err)
		}
		return nil
	})
	if err == nil && !out.Known {
		d.kick(JobTell)
	}
	return out, err
}

// dated fills in what was left out and refuses what cannot be.
func dated(s vent.Sign, now vent.Instant, today vent.Date) (vent.Sign, error) {
	if s.At.IsZero() {
		s.At = now
	}
	if s.On == 0 {
		s.On = today
	}
	s.Answered, s.Released = vent.ID{}, vent.ID{}
	p := s.Valid()
	if s.On > today || s.At > now {
		p.Add("on", s.On.String(), "is in the future: today is %s", today)
	}
	return s, p.Err()
}

func (d *Desk) takeSign(tx *store.Tx, run vent.Run, p planCase, s vent.Sign, out *SignTaken) error {
	rule, ok := rules.SignByKind(s.Kind)
	if !ok {
		return fmt.Errorf("sign %q has no rule: %w", s.Kind, vent.ErrInvalid)
	}
	out.Say, out.Emergency = rule.Say, rule.Emergency
	for _, c := range rule.Cautions {
		out.Cautions = append(out.Cautions, rules.CautionText(c))
	}
	out.Due = faults.SignDue(s, p.docket.at.Gas).Day
	if i := slices.IndexFunc(p.in.Signs, func(x vent.Sign) bool { return sameSign(x, s) }); i >= 0 {
		known := p.in.Signs[i]
		j := slices.IndexFunc(p.docket.faults, func(f vent.Fault) bool { return f.SignID == known.ID && f.State == vent.FaultOpen })
		if rule.Fault == "" || j >= 0 {
			out.Sign, out.Known = known, true
			if j >= 0 {
				out.Fault = p.docket.faults[j]
			}
			return nil
		}
	}
	s.ID = tx.NewID()
	if err := store.Signs.Put(tx, s, "noticed: "+string(s.Kind)); err != nil {
		return err
	}
	out.Sign = s
	if sight, stops := faults.FromSign(s, p.docket.at); stops {
		changed, err := p.docket.raise(tx, []faults.Sight{sight})
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(p.docket.faults, func(f vent.Fault) bool {
			return f.Rule == rule.Fault && f.Subject == sight.Subject && f.State == vent.FaultOpen
		}); i >= 0 {
			out.Fault = p.docket.faults[i]
		}
		if len(changed) == 0 && out.Fault.ID.IsZero() {
			return fmt.Errorf("the sign %s raised nothing", s.Kind)
		}
	}
	_, err := d.planRun(tx, run, vent.Subject{Kind: vent.KindSign, ID: s.ID})
	return err
}

// sameSign compares what was noticed, when and by whom, but for the moment: a form can be sent twice.
func sameSign(a, b vent.Sign) bool {
	return a.Kind == b.Kind && a.On == b.On && a.By == b.By && a.Note == b.Note
}
