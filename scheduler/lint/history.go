package lint

import "ventdue/vent"

// cycle is the time from one cleaning, or one change of the run, to the next.
type cycle struct {
	start   vent.Date
	version int
	heads   heads
	opener  *vent.Finding   // the cleaning that started it; nil for an installation, a change or an unknown start
	looks   []*vent.Finding // what was seen in it before anything was taken out, the closing finding last
	ended   bool            // the last of looks cleaned the run
}

// history is a run's life as cycles; the last one is still open.
type history struct {
	cycles []cycle
	since  vent.Date // last full cleaning, else the installation; 0: not known
	opener vent.ID   // finding of it, else the run
	last   vent.Date // newest finding
}

// oldRun is how long before this installation learned of a run its start still counts as a clean start. Later than that
// somebody may have cleaned it, or nobody ever did: the last cleaning is not known.
const oldRunMonths = 12

// unknownYears is the use behind a run whose last cleaning is not known.
const unknownYears = 3

// historyOf cuts a life into cycles. Findings stand by date; those that were replaced or belong to another run are passed over.
func historyOf(run vent.Run, u usage, findings []vent.Finding) history {
	h := history{opener: run.ID, cycles: make([]cycle, 0, len(findings)+len(run.Versions)+1)}
	begin := run.Versions[0].From
	first := cycle{start: run.Known}
	switch {
	case begin != 0 && begin.AddMonths(oldRunMonths) >= run.Known:
		h.since, first.start, first.heads = begin, begin, cleanHeads()
	default:
		if begin != 0 {
			first.start = begin
		}
		if len(findings) > 0 && findings[0].Date < first.start {
			first.start = findings[0].Date
		}
		first.heads = unknownHeads(u.between(first.start.AddMonths(-12*unknownYears), first.start))
	}
	h.cycles = append(h.cycles, first)
	for i := range findings {
		f := &findings[i]
		if !f.Counts() || !f.RunID.IsZero() && f.RunID != run.ID || f.Date < h.cycles[0].start {
			continue
		}
		h.changes(run, u, f.Date-1)
		h.add(run, u, f)
	}
	h.changes(run, u, lastDay)
	return h
}

const lastDay vent.Date = 1 << 30

// add puts one finding in its cycle and opens the next one where it cleaned. What was found belongs to the version that
// stood until that day, what was left to one that begins on it.
func (h *history) add(run vent.Run, u usage, f *vent.Finding) {
	h.last = max(h.last, f.Date)
	c := &h.cycles[len(h.cycles)-1]
	if f.Outcome == vent.Failed && !f.LintBefore.Choked() { // what was seen choked counts, whatever became of the work
		return
	}
	c.looks = append(c.looks, f)
	if !f.Cleaned() {
		return
	}
	c.ended = true
	grown := c.heads.mean() + u.between(c.start, f.Date)
	version := c.version
	for version+1 < len(run.Versions) && run.Versions[version+1].From <= f.Date {
		version++
	}
	h.cycles = append(h.cycles, cycle{start: f.Date, version: version, heads: leftover(*f, grown), opener: f})
	if f.CleanedFully() {
		h.since, h.opener = f.Date, f.ID
	}
}

// changes opens a cycle for every version that began up to a day. A new dryer or measuring point leaves the lint where it
// was; a new route takes an unknown part of it away.
func (h *history) changes(run vent.Run, u usage, until vent.Date) {
	c := h.cycles[len(h.cycles)-1]
	for v := c.version + 1; v < len(run.Versions) && run.Versions[v].From <= until; v++ {
		c = h.cycles[len(h.cycles)-1]
		at := max(run.Versions[v].From, c.start)
		grown := c.heads.mean() + u.between(c.start, at)
		next := cycle{start: at, version: v, heads: sameHeads(c.heads, u.between(c.start, at))}
		if routeChanged(run.Versions[v-1], run.Versions[v]) {
			next.heads = rebuiltHeads(grown)
		}
		h.cycles = append(h.cycles, next)
	}
}

// routeChanged reports whether another way or another duct was built.
func routeChanged(a, b vent.Version) bool {
	if a.Route == nil || b.Route == nil {
		return a.Route != b.Route
	}
	x, y := a.Route, b.Route
	if x.StraightLength() != y.StraightLength() || len(x.Sections) != len(y.Sections) || len(x.Fittings) != len(y.Fittings) || x.Transition != y.Transition {
		return true
	}
	for i := range x.Sections {
		if x.Sections[i] != y.Sections[i] {
			return true
		}
	}
	for i := range x.Fittings {
		if x.Fittings[i] != y.Fittings[i] {
			return true
		}
	}
	return false
}
