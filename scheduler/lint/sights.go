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

// moment gives the reading after the opening cleaning as number 0 and the looks from 1 on.
func (e *sights) moment(i int) *moment {
	if i == 0 {
		return &e.start
	}
	return &e.looks[i-1]
}

// loadsAt is the number of loads dried since the start at a moment.
func (e *sights) loadsAt(i int) float64 {
	if i == 0 {
		return 0
	}
	return e.loads[i-1]
}

// gather collects what a cycle's findings say. A find that came at once, a nest or a crushed elbow, is no growth: it is left out.
func (l *learner) gather(c *cycle) {
	e := &l.seen
	e.start, e.n, e.until = moment{}, 0, c.start
	if c.opener != nil {
		e.start = l.build.momentOf(c.opener, true, l.channel, l.usual, 1, false)
	}
	for _, f := range c.looks[max(0, len(c.looks)-maxLooks):] {
		if f.Sudden {
			continue
		}
		m := l.build.momentOf(f, false, l.channel, l.usual, 1, heatFaultOn(f, l.faults))
		if !m.says() {
			continue
		}
		e.looks[e.n], e.loads[e.n] = m, l.u.between(c.start, f.Date)
		e.until = f.Date
		e.n++
	}
}
