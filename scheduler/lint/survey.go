package lint

import (
	"math"
	"slices"

	"ventdue/vent"
)

// survey counts what was measured and looks for what must not be forgotten.
func (b *Belief) survey(c *Case, h *history) {
	last := len(h.cycles) - 1
	current := h.cycles[last].version
	bd := &b.build
	ch := channelOf(h, current)
	if bd.limit.AtMaker && !bd.noGeometry {
		b.troubles = append(b.troubles, cleanPastMaker(b, c))
	}
	b.inherit(c, &h.cycles[last])
	for i := range h.cycles {
		cy := &h.cycles[i]
		if cy.version != current {
			continue
		}
		b.countOpening(cy, ch)
		if i == last {
			b.leftPast(cy.opener, ch)
		}
		for n, f := range cy.looks {
			a := bd.airOf(f.Before, ch, 1)
			if a.s > 0 && leaks(bd, f.Before) {
				a = air{}
			}
			if a.s > 0 || f.LintBefore != vent.NotGraded {
				b.readings++
			}
			if a.s > 0 {
				b.note(a, f.Date)
				if cy.ended && n == len(cy.looks)-1 && !f.Sudden {
					b.cycles++
				}
			}
			if i == last {
				b.look(c, f, a)
			}
		}
	}
	b.lastTroubles(c, h, ch)
}

// inherit takes over that the run was past its limit before a new dryer or measuring point began its open cycle: that leaves
// the lint where it was. The judgement is that of the former version, against its own clean value.
func (b *Belief) inherit(c *Case, open *cycle) {
	v := open.version
	if open.opener != nil || v == 0 || routeChanged(c.Run.Versions[v-1], c.Run.Versions[v]) {
		return
	}
	before := *c
	before.Run.Versions = c.Run.Versions[:v]
	before.Findings = slices.DeleteFunc(slices.Clone(c.Findings), func(f vent.Finding) bool { return f.Date > open.start })
	old := Learn(before)
	b.pastOn, b.pastSeen, b.pastLeft = old.pastOn, old.pastSeen, old.pastLeft
}

// countOpening counts the reading after a cleaning.
func (b *Belief) countOpening(cy *cycle, ch channel) {
	f := cy.opener
	if f == nil {
		return
	}
	a := b.build.airOf(f.After, ch, 1)
	if a.s > 0 || f.LintAfter != vent.NotGraded {
		b.readings++
	}
	if a.s == 0 {
		b.proven = false
		return
	}
	b.note(a, f.Date)
	if b.build.cleanAir(f, ch, 1).s == 0 {
		b.proven = false
		return
	}
	b.afters++
	if f.Reach == vent.ReachThrough {
		b.through++
	}
	b.proven = math.Exp(a.x-b.clean) >= provenShare
}

// provenShare of the clean flow after a cleaning shows that it left next to nothing.
const provenShare = 0.92

// note keeps the newest reading of air as a share of the clean value.
func (b *Belief) note(a air, on vent.Date) {
	b.lastFlow, b.lastFlowOn = min(mostShare, math.Exp(a.x-b.clean)), on
	if a.x < math.Log(leastRead)+1e-9 {
		b.lastFlow = noFlow
	}
}

// noFlow stands for a reading of nothing, or of so little that an instrument cannot tell it from nothing: it reads as 0 %,
// while 0 itself means that nothing was read.
const noFlow = 0.001

// matIsPast reports whether a mat that was seen on a day is past the limit: where the thinnest mat holds as much lint as the
// limit allows, or where the model, which weighed the look, thinks it more likely than not.
func (b *Belief) matIsPast(on vent.Date) bool {
	least, _ := sightOf(vent.Mat)
	return b.build.limit.Lint <= least || b.Chance(on) >= 0.5
}

// leftPast judges the cleaning that began the open cycle: a run that was left matted or plugged, or that measured past the
// limit afterwards, is not clean. A later look that finds it open takes that back.
func (b *Belief) leftPast(f *vent.Finding, ch channel) {
	if f == nil {
		return
	}
	a := b.build.airOf(f.After, ch, 1)
	low := a.s > 0 && !leaks(&b.build, f.After) && math.Exp(a.x-b.clean) < FlowShare
	if f.LintAfter.Choked() {
		b.pastOn, b.pastSeen, b.pastLeft = f.Date, f.LintAfter, true
	} else if low {
		b.pastOn, b.pastLeft = f.Date, true
	}
}

// look judges a finding of the open cycle: past the limit, or left choked.
func (b *Belief) look(c *Case, f *vent.Finding, a air) {
	seen := f.LeftAs()
	choked := seen == vent.Plugged || seen == vent.Mat && b.matIsPast(f.Date)
	low := a.s > 0 && math.Exp(a.x-b.clean) < FlowShare
	switch {
	case choked:
		b.pastOn, b.pastSeen, b.pastLeft = f.Date, seen, false
	case low || b.pastMaker(c, f):
		b.pastOn, b.pastSeen, b.pastLeft = f.Date, vent.NotGraded, false
	case b.pastLeft && (a.s > 0 || seen == vent.Bare || seen == vent.Film):
		b.pastOn, b.pastSeen, b.pastLeft = 0, vent.NotGraded, false
	}
	if a.s > 0 && math.Exp(a.x-b.clean) <= LeaveShare && f == b.newest(c) {
		b.troubles = append(b.troubles, Trouble{
			Rule: LeftChoked, Severity: b.gasStop(c), On: f.Date, Finding: f.ID,
			Value: b.lastFlow, Against: LeaveShare,
		})
	}
}

// pastMaker reports a static pressure past the maker's limit on a run that would stand clearly below it when clean. Where
// even the clean run is near it, the pressure is no sign of lint: a better run is missing.
func (b *Belief) pastMaker(c *Case, f *vent.Finding) bool {
	most, ok := b.MakerLimit(c.Dryer)
	for _, r := range f.Before {
		if ok && r.Quantity == vent.Static && r.Value > most {
			return true
		}
	}
	return false
}

func (b *Belief) newest(c *Case) *vent.Finding {
	for i := len(c.Findings) - 1; i >= 0; i-- {
		if c.Findings[i].Counts() && c.Findings[i].Looked() {
			return &c.Findings[i]
		}
	}
	return nil
}

// gasStop is the severity of a choked run: gas spills carbon monoxide.
func (b *Belief) gasStop(c *Case) vent.Severity {
	if c.Dryer.Fuel == vent.Gas {
		return vent.Stop
	}
	return vent.Fix
}
