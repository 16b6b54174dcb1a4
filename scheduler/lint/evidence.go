package lint

import (
	"math"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// air is what the readings of air of one moment say: the logarithm of the flow over the computed clean flow, and its
// standard error; s 0 where none was taken.
type air struct{ x, s float64 }

// moment is all the evidence on lint of one finding, before or after the work.
type moment struct {
	air   air
	by    *vent.Finding
	after bool
	lint  vent.Grade
	rest  []vent.Reading // scanned for flap, lint mass and drying minutes
	slow  float64        // log of drying minutes over the usual; 0 where not longer or explained otherwise
	kilos float64        // lint taken out; 0 not weighed
}

// says reports whether the moment says anything of lint.
func (m *moment) says() bool { return m.air.s > 0 || m.indirect() }

func (m *moment) indirect() bool {
	return m.lint != vent.NotGraded || m.slow > 0 || m.kilos > 0 || m.flap() >= 0
}

// flap is the share that the outlet flap opened, -1 where nobody looked.
func (m *moment) flap() float64 {
	for i := range m.rest {
		if m.rest[i].Quantity == vent.Flap {
			return m.rest[i].Value
		}
	}
	return -1
}

// Standard errors (logarithms). Ours, after what instrument makers and hygiene bodies print for vane anemometers: 2 to 5 %.
const (
	doubtAir       = 0.020 // instrument
	doubtStatic    = 0.05
	doubtSetting   = 0.008 // what pushing the dryer back and the weather change from visit to visit
	doubtCondition = 0.045 // every condition of comparison that nobody confirmed
	doubtOther     = 0.15  // static beside air, or air beside static: its own offset
	doubtExtreme   = 1.0
)

// leastRead is the share of the computed clean flow below which a reading says nothing more: the run is closed.
const leastRead = 0.02

// conditions under which a reading of air compares with another of the same version.
var conditions = [...]vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen}

// channel is the kind of reading that the clean value of a version is kept for.
type channel int

const (
	byAir channel = iota
	byStatic
)

// channelOf takes the kind that was read more often.
func channelOf(h *history, version int) channel {
	var airs, statics int
	count := func(rs []vent.Reading) {
		for i := range rs {
			switch rs[i].Quantity {
			case vent.AirSpeed, vent.Flow:
				airs++
			case vent.Static:
				statics++
			}
		}
	}
	for i := range h.cycles {
		c := &h.cycles[i]
		if c.version != version {
			continue
		}
		if c.opener != nil {
			count(c.opener.After)
		}
		for _, f := range c.looks {
			count(f.Before)
		}
	}
	if statics > airs {
		return byStatic
	}
	return byAir
}

// airOf joins the readings of air of one moment into one figure.
func (b *build) airOf(rs []vent.Reading, ch channel, factor float64) air {
	var sum, weight float64
	for i := range rs {
		r := &rs[i]
		x, s, own, ok := b.logShare(r)
		if !ok {
			continue
		}
		for _, c := range conditions {
			if !r.Has(c) {
				s = math.Hypot(s, doubtCondition)
			}
		}
		if own != ch {
			s = math.Hypot(s, doubtOther)
		}
		w := 1 / (s * s)
		sum += w * x
		weight += w
	}
	if weight == 0 {
		return air{}
	}
	return air{sum / weight, factor * hypot(1/math.Sqrt(weight), doubtSetting)}
}

// cleanAir is the air after a cleaning, as far as it can tell of the clean run: what is far too low, or was read on a run
// that was left matted or plugged, tells nothing of it.
func (b *build) cleanAir(f *vent.Finding, ch channel, factor float64) air {
	a := b.airOf(f.After, ch, factor)
	if f.LintAfter.Choked() || b.blocked(a) {
		return air{}
	}
	return a
}

// logShare turns a reading into the logarithm of the flow over the computed clean flow.
func (b *build) logShare(r *vent.Reading) (x, s float64, ch channel, ok bool) {
	if !(r.Value >= 0) || math.IsInf(r.Value, 0) || b.mute(r.Quantity) {
		return 0, 0, 0, false
	}
	ratio := func(full float64) (float64, float64, channel, bool) {
		s := doubtAir
		if r.Doubt > 0 {
			s = r.Doubt
		}
		return math.Log(max(r.Value/full/math.Exp(b.anchor), leastRead)), s, byAir, full > 0
	}
	switch r.Quantity {
	case vent.AirSpeed:
		return ratio(float64(b.clean.OutletSpeed))
	case vent.Flow:
		return ratio(float64(b.clean.Flow))
	case vent.Static:
		s := doubtStatic
		if r.Doubt > 0 {
			s = r.Doubt
		}
		shutoff, clean := float64(b.sys.Shutoff()), float64(b.clean.Static)
		left := max(shutoff-r.Value, 0.02*shutoff) // on the blower's curve flow goes with its root
		x := math.Log(left/(shutoff-clean)) / 2
		return x, min(doubtExtreme, max(0.02, s*r.Value/left/2)), byStatic, shutoff > clean
	}
	return 0, 0, 0, false
}

// momentOf gathers what a finding says of the lint before or after the work.
func (b *build) momentOf(f *vent.Finding, after bool, ch channel, usual, factor float64, heatFault bool) moment {
	m := moment{by: f, after: after, lint: f.LintBefore, rest: f.Before}
	if after {
		m.lint, m.rest = f.LintAfter, f.After
	}
	if after {
		if !leaks(b, m.rest) {
			m.air = b.cleanAir(f, ch, factor)
		}
		return m
	}
	if !leaks(b, m.rest) {
		m.air = b.airOf(m.rest, ch, factor)
	}
	for i := range m.rest {
		switch r := &m.rest[i]; r.Quantity {
		case vent.DryMinutes:
			if !heatFault && usual > 0 && r.Value > usual {
				m.slow = math.Log(r.Value / usual)
			}
		case vent.LintMass:
			m.kilos = r.Value
		}
	}
	for i := range f.After { // lint is weighed when it is out
		if f.After[i].Quantity == vent.LintMass {
			m.kilos = f.After[i].Value
		}
	}
	return m
}

// lowShare and lowStatic are where both flow and static pressure are low: that is not a clean run but a leak, a duct fallen
// off, a choked lint screen or a weak blower.
const (
	lowShare  = 0.75
	lowStatic = 0.80
)

// leaks reports low static pressure with low flow: no evidence on lint.
func leaks(b *build, rs []vent.Reading) bool {
	if b.boosted { // what would be low is computed
		return false
	}
	var flow, static bool
	for i := range rs {
		r := &rs[i]
		switch r.Quantity {
		case vent.AirSpeed:
			flow = flow || r.Value < lowShare*float64(b.clean.OutletSpeed)
		case vent.Flow:
			flow = flow || r.Value < lowShare*float64(b.clean.Flow)
		case vent.Static:
			static = static || r.Value < lowStatic*float64(b.clean.Static)
		}
	}
	return flow && static
}

// Lint by sight as an interval of b, in logarithms; the edges are soft. In a 4 in duct 0.01 is half a millimetre. Ours.
func sightOf(g vent.Grade) (low, high float64) {
	switch g {
	case vent.Bare:
		return 0, 0.008
	case vent.Film:
		return 0.002, 0.03
	case vent.Fuzz:
		return 0.012, 0.10
	case vent.Mat:
		return 0.06, 0.40
	case vent.Plugged:
		return 0.30, 1
	}
	return 0, 1
}

const (
	softSight  = 0.45 // of the edges of lint by sight, log
	softFlap   = 0.20 // of the edges of the flap's opening, log of flow share
	floorSight = 0.03 // what even a contradicting look leaves possible
	floorFlap  = 0.10
	floorMass  = 0.30
	floorSlow  = 0.30
	doubtMass  = 0.90
	doubtSlow  = 0.35
	// slowPower: a run at about two fifths of its flow took 1.6 times as long (one quoted test).
	slowPower = 0.5
	// lintDensity of a layer in a duct, kg/m³. No measurement is published.
	lintDensity = 35
	// UsualMinutes is a normal mixed load (trade figure, 40 to 50).
	UsualMinutes = 45
)

// likelihood of everything but air, for a state b with a share of the clean flow left.
func (m *moment) likelihood(bd *build, b, share float64) float64 {
	p := 1.0
	if m.lint != vent.NotGraded {
		low, high := sightOf(m.lint)
		in := 1.0
		if low > 0 {
			in *= logistic(math.Log(max(b, 1e-6)/low) / softSight)
		}
		if high < 1 {
			in *= logistic(math.Log(high/max(b, 1e-6)) / softSight)
		}
		p *= floorSight + (1-floorSight)*in
	}
	if open := m.flap(); open >= 0 {
		x := math.Log(max(share, 0.02))
		in := logistic((x - math.Log(0.55)) / softFlap)
		switch {
		case open < 0.25:
			in = logistic((math.Log(0.35) - x) / softFlap)
		case open < 0.75:
			in = logistic((x-math.Log(0.30))/softFlap) * logistic((math.Log(0.75)-x)/softFlap)
		}
		p *= floorFlap + (1-floorFlap)*in
	}
	if m.kilos > 0 {
		z := math.Log(m.kilos/(lintDensity*bd.wall*max(b, 1e-6)*bd.bore/2)) / doubtMass
		p *= floorMass + (1-floorMass)*normal(z)
	}
	if m.slow > 0 {
		// One-sided: long drying speaks for lint, usual drying for nothing, so that it never lengthens a date.
		if z := (m.slow + slowPower*math.Log(max(share, 0.02))) / doubtSlow; z > 0 {
			p *= floorSlow + (1-floorSlow)*normal(z)
		}
	}
	return p
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// usualMinutes is the shortest drying time that was read right after a cleaning, else the trade's figure.
func usualMinutes(findings []vent.Finding) float64 {
	usual := math.Inf(1)
	for i := range findings {
		for _, r := range findings[i].After {
			if r.Quantity == vent.DryMinutes && r.Value > 0 {
				usual = min(usual, r.Value)
			}
		}
	}
	if math.IsInf(usual, 1) {
		return UsualMinutes
	}
	return usual
}

// heatFaultOn reports what explains long drying as well as lint does on a day: a part of the dryer found bad, or a fault whose
// rule says so, of the dryer or of the run. A fault of the dryer whose rule nobody knows is taken to explain it, too.
func heatFaultOn(f *vent.Finding, faults []vent.Fault) bool {
	for _, p := range f.Parts {
		if p.Replaced || p.Result != "" && p.Result != "good" && p.Result != "not_checked" {
			return true
		}
	}
	for i := range faults {
		x := &faults[i]
		if x.Found > f.Date || x.Closed != 0 && x.Closed < f.Date {
			continue
		}
		if rule, known := rules.FaultByID(x.Rule); rule.Heat || !known && x.Subject.Kind == vent.KindAppliance {
			return true
		}
	}
	return false
}

// wallOf is the inner surface of a route and its widest bore.
func wallOf(route airflow.Duct) (wall, bore float64) {
	add := func(s airflow.Section) {
		wall += math.Pi * float64(s.Diameter*s.Length)
		bore = max(bore, float64(s.Diameter))
	}
	add(route.Transition)
	for _, s := range route.Sections {
		add(s)
	}
	return wall, bore
}
