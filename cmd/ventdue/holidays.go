package main

import (
	"fmt"
	"os"

	"ventdue/config"
	"ventdue/desk"
	"ventdue/notify/calendar"
	"ventdue/vent"
)

// holidayYears is for how many years a calendar of holidays is followed.
const holidayYears = 5

// visitPolicyOf turns the settings of visits into the rules' own terms. A calendar of holidays that cannot be read is an
// error: visits would be booked on days on which nobody comes.
func visitPolicyOf(cfg config.Config, today vent.Date) (desk.VisitPolicy, error) {
	p, v := desk.DefaultVisitPolicy(), cfg.Visits
	var err error
	if p.Hours, err = vent.ParseWeek(v.Hours); err != nil {
		return p, fmt.Errorf("visits.hours: %w", err)
	}
	p.AheadDays, p.RunMinutes, p.LookMinutes, p.TripMinutes = v.AheadDays, v.RunMinutes, v.LookMinutes, v.TripMinutes
	p.CutoffHours, p.Offers = v.CutoffHours, v.Offers
	p.Plan.Travel.Factor, p.Plan.Travel.KmPerHour, p.Plan.Travel.Unknown = v.RoadFactor, v.KmPerHour, v.UnknownMinutes
	p.Plan.CatchUp, p.Plan.TurnoverDays = v.CatchUpDays, v.TurnoverDays
	if v.Holidays == "" {
		return p, nil
	}
	f, err := os.Open(v.Holidays)
	if err != nil {
		return p, fmt.Errorf("visits.holidays: %w", err)
	}
	defer f.Close() // read only
	if p.Holidays, err = calendar.Days(f, today.AddDays(-366), today.AddMonths(12*holidayYears)); err != nil {
		return p, fmt.Errorf("visits.holidays, %s: %w", v.Holidays, err)
	}
	return p, nil
}
