package scheduler

import (
	"math"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// A run that read 8 m/s after three cleanings; the limit is three quarters of the clean flow.
func TestReadingsAreJudgedAsPlanningTakesThem(t *testing.T) {
	in := yearly(0.9, 0.9, 0.9)
	on := in.Findings[2].Date.AddMonths(8)
	for _, x := range []struct {
		share float64 // of 8 m/s, by hand
		want  Standing
	}{{0.95, Open}, {0.71, PastLimit}, {0.5, PastLimit}} {
		f := vent.Finding{Date: on, Outcome: vent.Full, Before: speed(8 * x.share), After: speed(8)}
		j, err := Judge(in, f)
		if err != nil {
			t.Fatal(err)
		}
		if j.Before != x.want || math.Abs(j.Share-x.share) > 0.03 {
			t.Errorf("%v of the clean speed is %q at %.3f, not %q", x.share, j.Before, j.Share, x.want)
		}
		if j.After != Open || len(j.Readings) != 2 || j.Readings[0].After || !j.Readings[1].After {
			t.Errorf("%v: left %q, readings %+v", x.share, j.After, j.Readings)
		}
		// What planning says of the same finding, once it is recorded as a mere look.
		in := in
		f.Outcome, f.After = vent.LookedOnly, nil
		in.Findings = append(in.Findings[:3:3], f)
		if w := clean(t, in); (w.Day <= on) != (x.want == PastLimit) {
			t.Errorf("%v: judged %q, and the cleaning is due %s", x.share, x.want, w.Day)
		}
	}
}

// Above three quarters nothing is past its limit, though the maker's pressure may want it clean soon.
func TestNearTheLimit(t *testing.T) {
	in := yearly(0.9, 0.9, 0.9)
	j, err := Judge(in, vent.Finding{Date: in.Findings[2].Date.AddMonths(8), Outcome: vent.LookedOnly, Before: speed(8 * 0.8)})
	if err != nil || j.Before == PastLimit || j.Before == NotRead || (j.Before == Near) != (j.Share < j.Limit) || j.Limit < 0.75 {
		t.Errorf("%+v, %v", j, err)
	}
}

func TestLeftPastTheLimit(t *testing.T) {
	in := yearly(0.9, 0.9)
	j, err := Judge(in, vent.Finding{Date: in.Findings[1].Date.AddMonths(8), Outcome: vent.Full, After: speed(8 * 0.6)})
	if err != nil || j.Before != NotRead || j.After != PastLimit {
		t.Errorf("%+v, %v", j, err)
	}
}

// The few figures for a device without signal agree with Judge, but for the narrow strip in which the reading itself moves
// what clean is believed to be.
func TestGaugesAgreeWithJudge(t *testing.T) {
	maker := yearly(0.9, 0.9)
	maker.Dryer.MaxStatic = airflow.Pascals(400)
	for name, in := range map[string]Input{"known": yearly(0.9, 0.9, 0.9), "new": reference(), "maker's limit": maker} {
		g, err := GaugesOf(in)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(g.LimitSpeed-0.75*g.CleanSpeed) > 1e-9 || g.LimitStatic <= g.CleanStatic || g.CleanStatic <= 0 {
			t.Errorf("%s: %+v", name, g)
		}
		on := in.Run.Known.AddMonths(60)
		for _, off := range []float64{-0.1, 0.1} {
			for _, r := range []struct {
				reading vent.Reading
				past    bool
			}{
				{vent.Reading{Quantity: vent.AirSpeed, Value: g.LimitSpeed * (1 + off)}, off < 0},
				{vent.Reading{Quantity: vent.Static, Value: g.LimitStatic * (1 + off)}, off > 0},
			} {
				j, err := Judge(in, vent.Finding{Date: on, Outcome: vent.LookedOnly, Before: []vent.Reading{r.reading}})
				if err != nil {
					t.Fatal(err)
				}
				if (j.Before == PastLimit) != r.past {
					t.Errorf("%s: %+v is %q; the device would say past %v", name, r.reading, j.Before, r.past)
				}
			}
		}
	}
}

func TestNobodyJudgesARunThatEnded(t *testing.T) {
	in := yearly(0.9)
	in.Run.Ended = day("2020-01-01")
	g, err := GaugesOf(in)
	if j, err2 := Judge(in, vent.Finding{Date: day("2020-02-01"), Before: speed(1)}); err != nil || err2 != nil || g != (Gauges{}) || j.Before != NotRead {
		t.Errorf("%+v %+v %v %v", g, j, err, err2)
	}
	in = reference()
	in.Run.Versions = nil
	if _, err := Judge(in, vent.Finding{}); err == nil {
		t.Error("a run that nobody described is judged")
	}
}
