package lint

import "ventdue/vent"

// maxLooks is how many looks of one cycle are weighed; the newest count.
const maxLooks = 8

// sights is the evidence of one cycle.
type sights struct {
	start moment // after the cleaning that opened it
	looks [maxLooks]moment
	loads [maxLooks]float64 // dried since the start
	n     int
	until vent.Date // of the last look
}

func (e *sights) says() bool { return e.n > 0 || e.start.says() }

// gather collects what a cycle's findings say. A find that came at once, a nest or a crushed elbow, is no growth: it is left out.
func (l *learner) gather(c *cycle) sights {
	e := sights{until: c.start}
	if c.opener != nil {
		e.start = l.build.momentOf(c.opener, true, l.channel, l.usual, false)
	}
	for _, f := range c.looks[max(0, len(c.looks)-maxLooks):] {
		if f.Sudden {
			continue
		}
		m := l.build.momentOf(f, false, l.channel, l.usual, heatFaultOn(f, l.faults))
		if !m.says() {
			continue
		}
		e.looks[e.n], e.loads[e.n] = m, l.u.between(c.start, f.Date)
		e.until = f.Date
		e.n++
	}
	return e
}
