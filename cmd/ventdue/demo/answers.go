package demo

import (
	"fmt"
	"hash/fnv"

	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// leftOpen is out of how many of the old faults one is left for the visitor to find.
const leftOpen = 14

// answerFaults lets the owners answer what the tool and the visits found over the years, as owners do: most of the old
// faults are put off until the next works, with a word why, some are put right, a few are still open.
func (p *player) answerFaults(today vent.Date) error {
	by := desk.By{Now: today.At(7*60, p.zone), Actor: "office"}
	open, _, err := p.desk.Faults(by, desk.FaultQuery{})
	if err != nil {
		return fmt.Errorf("answer faults: %w", err)
	}
	for _, v := range open {
		f := v.Fault
		if f.Severity == vent.Stop || f.State != vent.FaultOpen || f.Deadline > today.AddDays(21) {
			continue
		}
		dice := draw(v.Run.Ref, f.Rule)
		if dice%leftOpen == 0 {
			continue
		}
		until := today.AddMonths(2 + int(dice/leftOpen%11))
		if _, err := p.desk.WaiveFault(by, f.ID, v.Customer.Name, until, "declined for now: to be done with the next works on the building"); err != nil {
			return fmt.Errorf("answer fault %s of %s: %w", f.Rule, v.Run.Ref, err)
		}
	}
	return nil
}

// draw gives a number that belongs to a run and a rule, always the same.
func draw(run, rule string) uint32 {
	h := fnv.New32a()
	_, _ = fmt.Fprint(h, run, " ", rule)
	return h.Sum32()
}

// overdueCheck is out of how many gas connections one was last looked at over a year ago; manyDoors is from how many doors on a
// building is walked round.
const (
	overdueCheck = 9
	manyDoors    = 10
)

// keepChecks tells of the recurring checks that were carried out: a fitter looked at the gas connections some time in the last
// year, somebody walks round the big buildings.
func (p *player) keepChecks(today vent.Date) error {
	by := desk.By{Now: today.At(7*60+30, p.zone), Actor: "office"}
	sheets, _, err := p.desk.CheckSheets(by, desk.CheckQuery{All: true})
	if err != nil {
		return fmt.Errorf("keep checks: %w", err)
	}
	done := func(ref string, on vent.Date, who string) error {
		_, err := p.desk.ActOnChecks(by, []string{ref}, desk.CheckAct{Do: desk.CheckDone, On: on, Who: who})
		return err
	}
	for _, s := range sheets {
		for _, l := range s.Lines {
			for _, x := range l.Items {
				if err != nil || x.Check.Rule != rules.CheckGas {
					continue
				}
				dice := draw(x.Appliance.Ref+x.Unit.Name+s.Site.Name, x.Check.Rule)
				ago := 20 + int(dice/overdueCheck%330)
				if dice%overdueCheck == 0 {
					ago = 380
				}
				err = done(x.Ref, today.AddDays(-ago), "Harold Venn, gas fitter")
			}
		}
		for _, x := range s.Left {
			if err != nil || x.Check.Rule != rules.CheckFlap || len(s.Units) < manyDoors {
				continue
			}
			err = done(x.Ref, today.AddDays(-20-int(draw(s.Site.Name, x.Check.Rule)%60)), "the caretaker")
		}
		if err != nil {
			return fmt.Errorf("keep the checks of %s: %w", s.Site.Name, err)
		}
	}
	return nil
}
