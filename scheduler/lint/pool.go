package lint

import (
	"fmt"
	"math"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Summary is what one run can teach its neighbours: how far its own findings put its log growth from what its build and
// its use let expect, and how precisely. It is small enough to be kept as a row.
type Summary struct {
	RunID  vent.ID `json:"run_id" cbor:"1,keyasint"`
	SiteID vent.ID `json:"site_id" cbor:"2,keyasint"`
	// Build is a key that runs of like build share: material, length class, dryer class.
	Build string `json:"build" cbor:"3,keyasint"`
	// Shift is the difference of log growth against the prior's median without any pool; Precision is 1/variance of what
	// the findings alone say of it, 0: nothing.
	Shift     float64 `json:"shift" cbor:"4,keyasint"`
	Precision float64 `json:"precision" cbor:"5,keyasint"`
	// Manner is the log of how well each manner of keeping runs foretold the run's findings, less their mean.
	Manner byManner `json:"manner" cbor:"7,keyasint"`
	// Apart keeps branches of a riser from teaching each other: what chokes one may sit in the riser.
	Apart bool `json:"apart,omitempty" cbor:"6,keyasint,omitempty"`
}

// How the spread between runs (spreadRuns) is made up: what runs of one site share, what runs of like build share, and the
// run's own. Ours.
const (
	spreadSite  = 0.28
	spreadBuild = 0.18
	spreadOwn   = 0.437 // the root of 0.55² - 0.28² - 0.18²
)

// Tally adds up summaries; rows can be kept per site and per build, and a run's own summary taken out again.
type Tally struct {
	Weight float64  `json:"weight" cbor:"1,keyasint"`
	Sum    float64  `json:"sum" cbor:"2,keyasint"` // of weight times shift
	Runs   int      `json:"runs" cbor:"3,keyasint"`
	Manner byManner `json:"manner" cbor:"4,keyasint"` // sums
}

// weight is how much one run says of what it shares with others.
func (s Summary) weight() float64 {
	if !(s.Precision > 0) || math.IsInf(s.Precision, 0) || math.IsNaN(s.Shift) {
		return 0
	}
	return 1 / (spreadOwn*spreadOwn + 1/s.Precision)
}

// Add puts a run's summary in.
func (t *Tally) Add(s Summary) {
	if w := s.weight(); w > 0 {
		t.Weight += w
		t.Sum += w * s.Shift
		for m, x := range s.Manner {
			t.Manner[m] += x
		}
		t.Runs++
	}
}

// Less gives the tally without a run's summary, as it was put in.
func (t Tally) Less(s Summary) Tally {
	if w := s.weight(); w > 0 {
		t.Weight = max(0, t.Weight-w)
		t.Sum -= w * s.Shift
		for m, x := range s.Manner {
			t.Manner[m] -= x
		}
		t.Runs--
	}
	if t.Runs <= 0 {
		return Tally{}
	}
	return t
}

// Pool is what a run's neighbours know: the runs of its site and the operator's runs of like build, without itself.
type Pool struct {
	Site  Tally `json:"site" cbor:"1,keyasint"`
	Build Tally `json:"build" cbor:"2,keyasint"`
}

// PoolOf adds up what neighbours teach a run: those of its site, and those of like build elsewhere. The run itself among
// them is passed over; branches of a riser teach nobody on their site.
func PoolOf(self Summary, neighbours []Summary) Pool {
	var p Pool
	for _, s := range neighbours {
		switch {
		case s.RunID == self.RunID:
		case s.SiteID == self.SiteID && !s.SiteID.IsZero():
			if !s.Apart && !self.Apart {
				p.Site.Add(s)
			}
		case s.Build == self.Build && s.Build != "":
			p.Build.Add(s)
		}
	}
	return p
}

// shared is the mean and variance of what a tally says of a shared shift whose spread is known.
func (t Tally) shared(spread float64) (mean, variance float64) {
	if !(t.Weight > 0) || math.IsInf(t.Weight, 0) || math.IsNaN(t.Sum) {
		return 0, spread * spread
	}
	p := 1/(spread*spread) + t.Weight
	return min(2, max(-2, t.Sum/p)), 1 / p
}

// apply moves a prior by what neighbours teach and narrows it.
func (p Pool) apply(b *build) {
	m1, v1 := p.Site.shared(spreadSite)
	m2, v2 := p.Build.shared(spreadBuild)
	rest := b.spread*b.spread - spreadSite*spreadSite - spreadBuild*spreadBuild
	b.median += m1 + m2
	b.shift = m1 + m2
	b.spread = math.Sqrt(max(rest, spreadOwn*spreadOwn) + v1 + v2)
}

// buildKey names runs of like build.
func buildKey(v vent.Version, dryer vent.Appliance) string {
	if v.Route == nil || len(v.Route.Sections) == 0 {
		return ""
	}
	longest := v.Route.Sections[0]
	for _, s := range v.Route.Sections[1:] {
		if s.Length > longest.Length {
			longest = s
		}
	}
	class := dryer.Class
	if class == "" {
		class = airflow.FullSize
	}
	return fmt.Sprintf("%s/%d/%s", longest.Material, min(4, int(v.Route.StraightLength()/airflow.Feet(12))), class)
}
