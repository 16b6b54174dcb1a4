package calendar

import (
	"fmt"
	"slices"

	"ventdue/vent"
)

// byNearness returns the indexes of events, those nearest to the anchor first,
// of two equally near the later.
func byNearness(events []placed, anchor vent.Date) []int {
	index := make([]int, len(events))
	for i := range index {
		index[i] = i
	}
	away := func(i int) int {
		d := anchor.DaysUntil(events[i].Start)
		return max(2*d, -2*d+1)
	}
	slices.SortStableFunc(index, func(a, b int) int { return away(a) - away(b) })
	return index
}

// nearest returns the n events nearest to the anchor, in their own order.
func nearest(events []placed, anchor vent.Date, n int) []placed {
	if len(events) <= n {
		return events
	}
	index := byNearness(events, anchor)[:n]
	slices.Sort(index)
	return pick(events, index)
}

func pick(events []placed, index []int) []placed {
	kept := make([]placed, len(index))
	for i, at := range index {
		kept[i] = events[at]
	}
	return kept
}

// fitting writes events until the buffer holds limit octets and returns those
// it wrote. If they do not all fit, each is tried from the anchor outwards, so
// that one with an endless text is left out alone.
func fitting(w *writer, events []placed, anchor vent.Date, limit int) ([]placed, error) {
	head := len(w.buf)
	sizes := make([]int, len(events))
	for i := range events {
		before := len(w.buf)
		events[i].write(w)
		sizes[i] = len(w.buf) - before
	}
	if len(w.buf) <= limit {
		return events, nil
	}
	room := limit - head
	var index []int
	for _, i := range byNearness(events, anchor) {
		if sizes[i] <= room {
			room -= sizes[i]
			index = append(index, i)
		}
	}
	if len(index) == 0 {
		return nil, fmt.Errorf("render calendar: nothing of %d events fits into %d octets: shorten their texts or the calendar's own", len(events), MaxBytes)
	}
	slices.Sort(index)
	w.buf = w.buf[:head]
	kept := pick(events, index)
	for i := range kept {
		kept[i].write(w)
	}
	return kept, nil
}
