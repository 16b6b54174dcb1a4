package desk

import (
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// VisitPolicy is what an operator chose about visits.
type VisitPolicy struct {
	Plan visits.Policy
	// Hours are those of a technician who has none of their own.
	Hours vent.Week
	// Holidays are days on which nobody works.
	Holidays []vent.Date
	// AheadDays is how far ahead visits are proposed.
	AheadDays int
	// RunMinutes is how long cleaning a run takes, LookMinutes a look or a check, TripMinutes what every trip takes beside its dues.
	RunMinutes, LookMinutes, TripMinutes int
	// CutoffHours is until how long before a visit a customer may move or cancel it.
	CutoffHours int
	// Offers is how many times are offered at once.
	Offers int
}

// DefaultVisitPolicy is the policy of an installation that set nothing. The minutes are common practice without a source.
func DefaultVisitPolicy() VisitPolicy {
	var hours vent.Week
	for d := 1; d <= 5; d++ {
		hours[d] = vent.Span{From: 8 * 60, To: 17 * 60}
	}
	return VisitPolicy{Plan: visits.DefaultPolicy(), Hours: hours, AheadDays: 60, RunMinutes: 45, LookMinutes: 20, TripMinutes: 15,
		CutoffHours: 24, Offers: 6}
}
