package lint

import (
	"math"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// boostedCase is a run of 25 ft with a booster, cleaned half a year before the newest finding.
func boostedCase(findings ...vent.Finding) Case {
	c := Case{Run: straight(airflow.SmoothMetal, 25, 2, 5.44), Dryer: electric, Findings: findings}
	fan := vent.Appliance{ID: vent.ID{15: 9}, Kind: vent.Booster, Listed: true}
	c.InLine = []vent.Appliance{fan}
	c.Run.Versions[0].InLine = []vent.ID{fan.ID}
	return c
}

func gauged(day vent.Date, outcome vent.Outcome, before, after []vent.Reading) vent.Finding {
	return vent.Finding{RunID: vent.ID{}, Date: day, By: vent.Doer{Kind: vent.ByUs}, Outcome: outcome, Reach: vent.ReachThrough, Before: before, After: after}
}

func speed(v float64) []vent.Reading { return []vent.Reading{{Quantity: vent.AirSpeed, Value: v}} }

// Until a boosted run was read after a cleaning, what is read says nothing, however far from what the formulas give for one fan.
func TestBoostedRunIsComparedWithItselfAlone(t *testing.T) {
	first := vent.NewDate(2025, 3, 3)
	bare := boostedCase(gauged(first, vent.Full, nil, nil), gauged(first.AddMonths(6), vent.LookedOnly, speed(2), nil))
	b := Learn(bare)
	if !b.Boosted() || !b.OutsideModel() || !b.NoGeometry() {
		t.Fatalf("boosted %v, outside %v, no geometry %v", b.Boosted(), b.OutsideModel(), b.NoGeometry())
	}
	if _, _, ok := b.LastFlow(); ok || len(Measurements(bare)) > 0 || b.CleanSpeed() != 0 || len(b.Troubles()) > 0 {
		t.Errorf("a reading is compared with a computed value: clean %v, troubles %v", b.CleanSpeed(), b.Troubles())
	}
	if on, _ := b.Past(); on != 0 {
		t.Errorf("past its limit on %s by a computed value", on)
	}

	// 14 m/s is nearly twice what the dryer's own blower can do here (7.85 m/s); 7 is half of what this run did when clean.
	for _, clean := range []float64{14, 4} {
		c := boostedCase(gauged(first, vent.Full, nil, speed(clean)), gauged(first.AddMonths(6), vent.LookedOnly, speed(clean/2), nil))
		b = Learn(c)
		if share, _, ok := b.LastFlow(); !ok || math.Abs(share-0.5) > 0.05 {
			t.Errorf("clean at %v m/s: half of it is %.3f of the clean flow", clean, share)
		}
		if on, _ := b.Past(); on != first.AddMonths(6) {
			t.Errorf("clean at %v m/s: half of it is not past the limit", clean)
		}
		for _, x := range b.Troubles() {
			if x.Rule != LeftChoked {
				t.Errorf("clean at %v m/s: %+v", clean, x)
			}
		}
	}
	// Suction at the dryer, or pressure past the maker's limit for a dryer alone, is no lint.
	c := boostedCase(gauged(first, vent.Full, nil, speed(9)), gauged(first.AddMonths(6), vent.LookedOnly, []vent.Reading{{Quantity: vent.Static, Value: 400}}, nil))
	b = Learn(c)
	if on, _ := b.Past(); on != 0 || len(b.Troubles()) > 0 {
		t.Errorf("static pressure: past on %s, %v", on, b.Troubles())
	}
}

// The same run before a booster was fitted is judged by its own version: the formulas hold for it.
func TestBoosterStartsAnotherCleanValue(t *testing.T) {
	first := vent.NewDate(2025, 3, 3)
	c := boostedCase(gauged(first, vent.Full, nil, speed(7.85)), gauged(first.AddMonths(6), vent.Full, speed(6), speed(13)))
	fitted := c.Run.Versions[0]
	c.Run.Versions[0].InLine = nil
	fitted.From = first.AddMonths(5)
	c.Run.Versions = append(c.Run.Versions, fitted)
	if b := Learn(c); math.Abs(b.CleanSpeed()-13) > 1 {
		t.Errorf("with the booster it is clean at %.2f m/s, read 13", b.CleanSpeed())
	}
	c.Run.Versions, c.Findings = c.Run.Versions[:1], c.Findings[:1]
	if b := Learn(c); b.Boosted() || b.OutsideModel() || math.Abs(b.CleanSpeed()-7.85) > 0.4 {
		t.Errorf("before: boosted %v, clean at %.2f m/s, read 7.85", b.Boosted(), b.CleanSpeed())
	}
}
