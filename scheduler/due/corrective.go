package due

import "ventdue/vent"

// signDays is how soon a sign must be looked into. A smell of burning and a CO alarm are for the emergency number and
// stop the dryer; the rest is a matter of days. Common practice.
func signDays(k vent.SignKind, gas bool) (days int, s vent.Severity) {
	switch k {
	case vent.BurningSmell, vent.COAlarmRang:
		return 0, vent.Stop
	case vent.HotTop:
		return 2, vent.Fix
	}
	if gas {
		return 3, vent.Fix
	}
	return 7, vent.Fix
}

// Sign is the corrective due that an open sign asks for. Nothing puts it off: no floor, no season, no told date.
func Sign(s vent.Sign, gas bool) vent.Wanted {
	days, severity := signDays(s.Kind, gas)
	day := s.On.AddDays(days)
	return vent.Wanted{
		Kind: vent.DueSign, Opener: s.ID, Severity: severity,
		Earliest: s.On, Day: day, Latest: day,
		Reason: vent.Reason{Bound: vent.BoundCorrective, Rule: string(s.Kind), Since: s.On},
	}
}
