package lint

import (
	"math"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// FlowShare is the share of the clean flow below which a run counts as choked. Ours, close to the point at which makers'
// pressure limits are passed on ordinary runs.
const FlowShare = 0.75

// LeaveShare is the measured share of the clean flow at which nobody leaves without cleaning.
const LeaveShare = 0.70

// carrySpeed keeps lint airborne: 1 200 ft/min, as commercial makers print it.
var carrySpeed = airflow.FeetPerMinute(1200)

// Limit is the lint a run may hold, and which limit says so.
type Limit struct {
	// Lint is b at the limit, above 0.
	Lint float64
	Kind vent.LimitKind
	// CleanStatic is the computed static pressure at the dryer's outlet of the clean run.
	CleanStatic airflow.Pascals
	// Backwards is the log of how much later this limit stands than that of the run's smoother or straighter twin: lint
	// roughens a smooth wall more than a rough one. The prior makes up for it (see prior.go).
	Backwards float64
	// AtMaker says that the clean run already stands at or past the maker's limit: no cleaning helps, only a better run.
	AtMaker bool
}

// limitOf finds the limit of a route. The flow limit rules; a maker's limit that comes sooner brings it forward, but at
// most to half of the flow limit's lint, so that the limit moves without a jump as a run gets longer.
func limitOf(dryer vent.Appliance, route airflow.Duct, sys *airflow.System) (Limit, error) {
	flow, err := lintAtShare(sys)
	if err != nil {
		return Limit{}, err
	}
	least, err := twinLimit(route, dryer.BlowerCurve(), flow)
	if err != nil {
		return Limit{}, err
	}
	clean, err := sys.At(0)
	if err != nil {
		return Limit{}, err
	}
	l := Limit{Lint: flow, Kind: vent.LimitFlow, CleanStatic: clean.Static, Backwards: math.Log(flow / least)}
	l.bring(staticLimit(sys, clean, dryer.StaticLimit()), flow, vent.LimitStatic)
	if dryer.LintCarry {
		l.bring(speedLimit(sys, flow), flow, vent.LimitSpeed)
	}
	return l, nil
}

// bring moves the limit to a maker's, at most to half of the flow limit's lint. Where the clean run
// stands at the maker's already, half of the flow limit's it is, and no longer the maker's.
func (l *Limit) bring(maker, flow float64, kind vent.LimitKind) {
	if maker <= 0 {
		l.AtMaker, kind = true, vent.LimitLint
	}
	if maker = max(maker, flow/2); maker < l.Lint {
		l.Lint, l.Kind = maker, kind
	}
}

// twinLimit is the smallest flow limit of a run and of its smooth, its straight smooth and its hoodless straight smooth
// twin. Lint roughens a smooth wall more than a rough one, and fittings and hoods dilute friction, so that the lint at the
// limit, taken alone, rises a little as a run gets rougher or more crooked; a worse run must not earn a later date by that.
func twinLimit(route airflow.Duct, blower airflow.Blower, least float64) (float64, error) {
	twin := route
	twin.Transition = smooth(route.Transition)
	twin.Sections = make([]airflow.Section, len(route.Sections))
	for i, s := range route.Sections {
		twin.Sections[i] = smooth(s)
	}
	bare := airflow.Outlet{Kind: airflow.OutletOpen, Diameter: route.WithDefaults().Outlet.Diameter}
	for _, simplify := range []func(){func() {}, func() { twin.Fittings = nil }, func() { twin.Outlet = bare }} {
		simplify()
		s, err := airflow.NewSystem(twin, blower)
		if err != nil {
			return 0, err
		}
		b, err := lintAtShare(&s)
		if err != nil {
			return 0, err
		}
		least = min(least, b)
	}
	return least, nil
}

func smooth(s airflow.Section) airflow.Section {
	if s.Length == 0 {
		return s
	}
	own := s.Roughness
	if own == 0 {
		own = s.Material.Roughness()
	}
	s.Roughness, s.FlexFactor = min(own, airflow.SmoothMetal.Roughness()), 1
	return s
}

func lintAtShare(sys *airflow.System) (float64, error) {
	clean, err := sys.At(0)
	if err != nil {
		return 0, err
	}
	return sys.LintFromFlow(clean.Flow*FlowShare, clean.Flow)
}

// staticLimit is the lint at which the static pressure reaches the maker's; 0 where the clean run is there, 1 where never.
func staticLimit(sys *airflow.System, clean airflow.Point, most airflow.Pascals) float64 {
	switch {
	case most <= clean.Static:
		return 0
	case most >= sys.Shutoff():
		return 1
	}
	b, err := sys.LintFromStatic(most, clean.Static)
	if err != nil {
		return 1
	}
	return b
}

// speedLimit is the lint at which the flow, in the clean bore, no longer carries lint; 0 where the clean run does not, 1 where not below flow's limit.
func speedLimit(sys *airflow.System, flow float64) float64 {
	slow := func(b float64) bool {
		p, err := sys.At(b)
		return err != nil || p.DuctSpeed*airflow.MetersPerSecond((1-b)*(1-b)) < carrySpeed
	}
	if slow(0) {
		return 0
	}
	if !slow(flow) {
		return 1
	}
	lo, hi := 0.0, flow
	for range 40 {
		if mid := (lo + hi) / 2; slow(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
