package lint

import (
	"math"
	"slices"

	"ventdue/vent"
)

// DefaultLoadsPerYear is what a household is reckoned with where nothing is known (10 CFR 430 subpart B appendix D2).
const DefaultLoadsPerYear = 283

const (
	daysPerYear  = 365.25
	weeksPerYear = daysPerYear / 7
	cubicFoot    = 0.3048 * 0.3048 * 0.3048 // m³
)

// laundryRoomLoads is a week of one shared machine: about one load per bedroom and week, ten flats of two bedrooms to a
// machine (trade figures, no primary source).
const laundryRoomLoads = 20

// HouseholdLoads estimates loads a year from bedrooms and the washer's volume in m³ (0: the formula's 3 ft³):
// (164 + 46.5 n) (3.0·2.08 + 1.59) / (V·2.08 + 1.59), V in ft³. Source: ANSI/RESNET/ICC 301-2019, addendum A.
func HouseholdLoads(bedrooms int, washer float64) float64 {
	ft3 := 3.0
	if washer > 0 {
		ft3 = washer / cubicFoot
	}
	return (164 + 46.5*float64(bedrooms)) * (3.0*2.08 + 1.59) / (ft3*2.08 + 1.59)
}

// loadsPerPerson is a week's loads per head where only the household's size is known: about four loads for two people,
// eight for four (a consumer page's figures, no primary source).
const loadsPerPerson = 2.0

// stretch is a time of even use, up to the next stretch's start.
type stretch struct {
	from   vent.Date
	perDay float64
	source vent.UseSource
}

// usage is the whole history of loads, oldest first; the last stretch lasts for ever, the first reaches back for ever.
type usage []stretch

// usageOf puts together what was told, what the machine counted, what the household suggests, and when nobody lived there.
func usageOf(run vent.Run, unit vent.Unit, findings []vent.Finding) usage {
	u := make(usage, 0, len(run.Use)+2*len(unit.Occupancies)+4)
	if len(run.Use) == 0 || run.Use[0].From > 1 {
		u = append(u, householdStretch(unit))
	}
	for _, x := range run.Use {
		s := stretch{x.From, x.LoadsPerWeek / 7, x.Source}
		if x.Source == vent.UseEmpty || !(s.perDay > 0) {
			s.perDay = 0
		}
		if len(u) == 1 && s.from <= u[0].from {
			u = u[:0]
		}
		u = append(u, s)
	}
	if len(run.Use) > 0 && run.Use[0].From > 1 && len(u) > 1 {
		// What was told first is a better guess of the time before than the household is.
		u[0].perDay, u[0].source = u[1].perDay, u[1].source
	}
	u = u.withEmpty(unit)
	return u.withCounter(findings)
}

func householdStretch(unit vent.Unit) stretch {
	switch {
	case unit.Kind == vent.LaundryRoom:
		return stretch{0, laundryRoomLoads / 7.0, vent.UseDefault}
	case unit.Bedrooms > 0:
		return stretch{0, HouseholdLoads(unit.Bedrooms, unit.WasherVolume) / daysPerYear, vent.UseHousehold}
	case unit.People > 0:
		return stretch{0, loadsPerPerson * float64(unit.People) / 7, vent.UseHousehold}
	}
	return stretch{0, DefaultLoadsPerYear / daysPerYear, vent.UseDefault}
}

// withEmpty sets use to nothing while the unit was said to be empty.
func (u usage) withEmpty(unit vent.Unit) usage {
	for _, o := range unit.Occupancies {
		if o.PersonID.IsZero() && o.From > 0 {
			u = u.set(o.From, o.To, stretch{source: vent.UseEmpty})
		}
	}
	return u
}

// withCounter sets use between two readings of the machine's own counter to what it counted; the newest such rate goes
// on until something newer was told.
func (u usage) withCounter(findings []vent.Finding) usage {
	var last vent.Finding
	for _, f := range findings {
		if f.LoadCounter <= 0 || !f.Counts() {
			continue
		}
		days := last.Date.DaysUntil(f.Date)
		if last.LoadCounter > 0 && days > 0 && f.LoadCounter >= last.LoadCounter {
			rate := float64(f.LoadCounter-last.LoadCounter) / float64(days)
			until := vent.Date(0)
			for _, s := range u {
				if s.from > f.Date {
					until = s.from
					break
				}
			}
			if u.at(f.Date).source == vent.UseEmpty {
				until = f.Date
			}
			u = u.set(last.Date, until, stretch{perDay: rate, source: vent.UseCounter})
		}
		last = f
	}
	return u
}

// set replaces the use from one day to another (0: for ever).
func (u usage) set(from, to vent.Date, s stretch) usage {
	after := u.at(to)
	out := make(usage, 0, len(u)+2)
	for _, x := range u {
		if x.from < from {
			out = append(out, x)
		}
	}
	s.from = from
	out = append(out, s)
	if to == 0 {
		return out
	}
	after.from = to
	out = append(out, after)
	for _, x := range u {
		if x.from > to {
			out = append(out, x)
		}
	}
	return out
}

// at gives the stretch of a day; of no day the last.
func (u usage) at(d vent.Date) stretch {
	s := u[0]
	for _, x := range u[1:] {
		if d != 0 && x.from > d {
			break
		}
		s = x
	}
	return s
}

// between is the number of loads from one day to a later one; 0 where the second is not later.
func (u usage) between(a, b vent.Date) float64 {
	if b <= a {
		return 0
	}
	var sum float64
	for i, s := range u {
		from, to := a, b
		if i > 0 {
			from = max(a, s.from)
		}
		if i+1 < len(u) {
			to = min(b, u[i+1].from)
		}
		if to > from {
			sum += s.perDay * float64(from.DaysUntil(to))
		}
	}
	return sum
}

// doubt is the standard deviation of the logarithm of a load count by its source. Ours.
func doubt(s vent.UseSource) float64 {
	switch s {
	case vent.UseCounter:
		return 0.03
	case vent.UseTold:
		return 0.20
	case vent.UseHousehold:
		return 0.30
	}
	return 0.35
}

// seasonTilt is the integral of cos over a window, the part by which a use that peaks in mid-January (mid-July in the
// south) exceeds the even use, in days.
func seasonTilt(a, b vent.Date, south bool) float64 {
	const peak = 15 // day of the year
	w := 2 * math.Pi / daysPerYear
	at := func(d vent.Date) float64 {
		x := float64(d) - float64(vent.NewDate(2001, 1, peak))
		if south {
			x -= daysPerYear / 2
		}
		return math.Sin(w*x) / w
	}
	return at(b) - at(a)
}

// inOrder reports whether findings stand by date, as they should.
func inOrder(f []vent.Finding) bool {
	return slices.IsSortedFunc(f, func(a, b vent.Finding) int { return int(a.Date) - int(b.Date) })
}
