package desk

import (
	"fmt"
	"slices"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// SoonDays is how far ahead "soon" reaches.
const SoonDays = 30

// Pick narrows the board to some of its dues.
type Pick string

// The picks. "Do not use" is in PickAll and PickStop only; PickUnknown cuts across the days.
const (
	PickAll     Pick = ""
	PickStop    Pick = "stop"
	PickUnknown Pick = "unknown"
	PickOverdue Pick = "overdue"
	PickSoon    Pick = "soon"
	PickLater   Pick = "later"
)

// Spot is a place in the list of dues that stays where it is when other days' dues close: a day, and how many dues of
// that day come before.
type Spot struct {
	From vent.Date
	Skip int
}

// BoardQuery asks for one page of the open dues.
type BoardQuery struct {
	Scope vent.Scope // zero: everything
	Words string     // each word must occur in the customer's, site's, unit's or run's name, the address or the run's key
	Pick  Pick
	Apart bool // with PickAll: gather "do not use" in Board.Stop instead of leaving it among the others
	Start Spot // zero: the beginning
	Max   int  // rows of the page
}

// BoardCounts counts the open dues of the asked scope and words. All is every due; Overdue, Soon and Later part those
// without Stop by their day; Unknown are those of the three whose last cleaning is not known.
type BoardCounts struct {
	All, Stop, Unknown, Overdue, Soon, Later int
}

// Board is one page of the open dues, by day.
type Board struct {
	Today  vent.Date // at the operator's office
	Counts BoardCounts
	Stop   []DueView // "do not use" where it was asked for apart: the first Max of them, on the first page only
	Dues   []DueView
	Prev   *Spot // nil on the first page
	Next   *Spot // nil on the last one
}

// Board gives one page of the open dues with the counts of all of them. It reads every due of the scope once.
func (d *Desk) Board(by By, q BoardQuery) (b Board, err error) {
	if q.Scope.Kind == "" {
		q.Scope = vent.OperatorScope
	}
	err = d.store.View(func(tx *store.Tx) error {
		s := sifter{query: q, words: strings.Fields(strings.ToLower(q.Words)), guide: newGuide(tx)}
		s.board.Today = vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone))
		for due, err := range store.OpenDuesIn(tx, q.Scope, 0, 0) {
			if err == nil {
				err = s.take(due)
			}
			if err != nil {
				return fmt.Errorf("list due %s: %w", due.ID, err)
			}
		}
		b = s.page()
		return nil
	})
	return b, err
}

// sifter lays out one page while the dues come by.
type sifter struct {
	query BoardQuery
	words []string
	guide *guide
	board Board
	days  []vent.Date // of every due of the pick, so that the pages before and after can be named
	start int         // place in days where the page starts
}

func (s *sifter) take(due vent.Due) error {
	var v DueView
	if len(s.words) > 0 {
		var err error
		if v, err = s.guide.due(due); err != nil {
			return err
		}
		if !v.fits(s.words) {
			return nil
		}
	}
	s.count(due)
	into := s.shelf(due)
	if into == nil {
		return nil
	}
	if v.Due.ID.IsZero() {
		var err error
		if v, err = s.guide.due(due); err != nil {
			return err
		}
	}
	*into = append(*into, v)
	return nil
}

// shelf tells into which part of the page a due goes; nil: not on this page.
func (s *sifter) shelf(due vent.Due) *[]DueView {
	q := &s.query
	if q.Apart && q.Pick == PickAll && due.Severity == vent.Stop {
		if q.Start == (Spot{}) && len(s.board.Stop) < q.Max {
			return &s.board.Stop
		}
		return nil
	}
	if !q.Pick.holds(due, s.board.Today) {
		return nil
	}
	s.days = append(s.days, due.Day)
	if due.Day < q.Start.From || due.Day == q.Start.From && s.sameDay() <= q.Start.Skip {
		s.start = len(s.days)
		return nil
	}
	if len(s.board.Dues) == q.Max {
		return nil
	}
	return &s.board.Dues
}

// sameDay counts how many dues of the last one's day came by, itself included.
func (s *sifter) sameDay() int { return spotOf(s.days, len(s.days)-1).Skip + 1 }

func (s *sifter) count(due vent.Due) {
	c := &s.board.Counts
	c.All++
	for _, x := range []struct {
		pick Pick
		n    *int
	}{{PickStop, &c.Stop}, {PickUnknown, &c.Unknown}, {PickOverdue, &c.Overdue}, {PickSoon, &c.Soon}, {PickLater, &c.Later}} {
		if x.pick.holds(due, s.board.Today) {
			*x.n++
		}
	}
}

func (s *sifter) page() Board {
	if s.start > 0 {
		at := spotOf(s.days, max(0, s.start-s.query.Max))
		if s.start <= s.query.Max {
			at = Spot{}
		}
		s.board.Prev = &at
	}
	if end := s.start + len(s.board.Dues); end < len(s.days) {
		at := spotOf(s.days, end)
		s.board.Next = &at
	}
	return s.board
}

// spotOf names the place of the i-th due.
func spotOf(days []vent.Date, i int) Spot {
	first, _ := slices.BinarySearch(days, days[i])
	return Spot{From: days[i], Skip: i - first}
}

// holds reports whether a due belongs to the pick on a day.
func (p Pick) holds(d vent.Due, today vent.Date) bool {
	if stop := d.Severity == vent.Stop; stop || p == PickStop {
		return stop && (p == PickStop || p == PickAll)
	}
	n := today.DaysUntil(d.Day)
	switch p {
	case PickUnknown:
		return d.Unknown
	case PickOverdue:
		return n < 0
	case PickSoon:
		return n >= 0 && n <= SoonDays
	case PickLater:
		return n > SoonDays
	}
	return true
}
