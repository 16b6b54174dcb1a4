package faults

import (
	"slices"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Round is one errand: the checks of one line that are due within three weeks of its first. It asks for one due, whatever
// it holds: thirty lint screens of a building are one walk.
type Round struct {
	// ID is under what it stays the same errand while its days move or a part of it is done; none for a new one.
	ID    vent.ID
	Line  rules.Line
	Items []Item // by day; at least one
}

// Rounds puts the checks of one site together. None is left out but those turned off. An alarm's replacement is no part
// of a test that comes every month: something has to be bought.
//
// A check remembers its round until it is done or skipped. Where what was one round falls apart, the earlier part stays
// that round; where two come together, the older one stays.
func Rounds(checks []vent.Check) []Round {
	type errand struct {
		line rules.Line
		once bool
	}
	by := map[errand][]Item{}
	for _, c := range checks {
		if !c.Off {
			r, _ := rules.CheckByID(c.Rule)
			k := errand{LineOf(c.Rule), r.Once}
			by[k] = append(by[k], Item{c, Next(c)})
		}
	}
	var out []Round
	for _, line := range rules.Lines() {
		for _, once := range []bool{false, true} {
			out = append(out, roundsOf(line, by[errand{line, once}])...)
		}
	}
	return out
}

// roundsOf cuts the checks of one errand where more than three weeks lie between a round's first day and the next check.
func roundsOf(line rules.Line, items []Item) (out []Round) {
	byDay(items)
	taken := map[vent.ID]bool{}
	for len(items) > 0 {
		n := 1
		for n < len(items) && items[n].Day <= items[0].Day.AddDays(togetherDays) {
			n++
		}
		r := Round{Line: line, Items: items[:n:n]}
		for _, x := range r.Items {
			id := x.Check.Round
			if !id.IsZero() && !taken[id] && (r.ID.IsZero() || slices.Compare(id[:], r.ID[:]) < 0) {
				r.ID = id
			}
		}
		taken[r.ID] = true
		out, items = append(out, r), items[n:]
	}
	return out
}

// Due is what the round asks for, on the first of its days. It must have an ID.
func (r Round) Due() vent.Wanted {
	w := CheckDue(r.Items[0].Check)
	for _, x := range r.Items[1:] {
		d := CheckDue(x.Check)
		w.Latest = min(w.Latest, max(w.Day, d.Latest))
		w.Reason.Months = min(w.Reason.Months, d.Reason.Months)
	}
	w.Opener, w.Reason.Also, w.Reason.Readings = r.ID, r.also(), len(r.Items)
	return w
}

// also names the other rules that are done with the round's first, each once, in the order of their days.
func (r Round) also() string {
	var ids []string
	for _, x := range r.Items[1:] {
		if x.Check.Rule != r.Items[0].Check.Rule && !slices.Contains(ids, x.Check.Rule) {
			ids = append(ids, x.Check.Rule)
		}
	}
	return strings.Join(ids, ",")
}
