package lint

import (
	"math"

	"ventdue/vent"
)

// Future is the likely flow of one day, as shares of the clean flow, 0 to 1.
type Future struct {
	On vent.Date `json:"on"`
	// One time in ten the flow is below Low, as often below Middle as above it, and one time in ten above High.
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

// Futures gives the likely courses of flow from the last cleaning on, as far as growth goes, for a picture: one entry a day
// asked for, in the same order. If nobody cleans none of its courses ever rises. Days before From count as From. The
// day on which Low passes FlowAtLimit is Day(0.10).
func (b *Belief) Futures(days []vent.Date) []Future {
	list := make([]Future, len(days))
	for i, d := range days {
		list[i] = Future{On: d, Low: b.Quantile(d, 0.1), Middle: b.Quantile(d, 0.5), High: b.Quantile(d, 0.9)}
	}
	return list
}

// Quantile is the share of the clean flow, 0 to 1, that is not reached with chance p on a day: p 0.5 is the median, 0.1 a
// pessimistic course. It falls with time.
func (b *Belief) Quantile(d vent.Date, p float64) float64 {
	use := b.driedBy(d)
	return b.flowShare(b.lintQuantile(&use, min(1, max(0, p))))
}

// flowShare is the computed share of the clean flow with so much lint.
func (b *Belief) flowShare(lint float64) float64 {
	at, err := b.build.sys.At(min(1, max(0, lint)))
	if err != nil || !(b.build.clean.Flow > 0) {
		return 0
	}
	return min(1, float64(at.Flow/b.build.clean.Flow))
}

// lintQuantile is the lint that is passed with chance p after so many loads.
func (b *Belief) lintQuantile(use *dried, p float64) float64 {
	lo, hi := -14.0, 0.0 // log of lint
	for range 50 {
		if mid := (lo + hi) / 2; b.chanceAbove(mid, use) > p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return min(1, math.Exp(hi))
}
