package scheduler

import (
	"math/rand/v2"
	"testing"

	"ventdue/vent"
)

// A run with cleanings a year apart, the last one measured.
func TestCourseOfARun(t *testing.T) {
	in := yearly(0.85, 0.9)
	c, err := CourseOf(in, 0)
	if err != nil {
		t.Fatal(err)
	}
	last := in.Findings[len(in.Findings)-1]
	if c.Since != last.Date || len(c.Cleanings) != len(in.Findings) {
		t.Errorf("since %s, %d cleanings; want %s, %d", c.Since, len(c.Cleanings), last.Date, len(in.Findings))
	}
	readings := 0
	for _, f := range in.Findings {
		readings += len(f.Before) + len(f.After)
	}
	if len(c.Readings) != readings {
		t.Errorf("%d readings of %d", len(c.Readings), readings)
	}
	w := clean(t, in)
	if c.Due == nil || c.Due.Day != w.Day || c.Due.Earliest != w.Earliest || c.Due.Latest != w.Latest {
		t.Errorf("due %+v, planned %+v", c.Due, w)
	}
	if end := c.Likely[len(c.Likely)-1].On; end < w.Latest || c.Likely[0].On != c.Since {
		t.Errorf("likely courses from %s to %s; the latest day is %s", c.Likely[0].On, end, w.Latest)
	}
	// A reading of the clean speed itself is all of the flow; half of that speed is half (flow goes with speed at one opening).
	for _, r := range c.Readings {
		if want := r.Reading.Value / c.CleanSpeed; r.Share < want-1e-9 || r.Share > want+1e-9 {
			t.Errorf("%v m/s of %v are %v, not %v", r.Reading.Value, c.CleanSpeed, r.Share, want)
		}
	}
}

// The open due is what people were told: the picture shows its day, and reaches to today where that is later.
func TestCourseShowsTheOpenDue(t *testing.T) {
	in := yearly(0.9)
	in.Open = []vent.Due{{State: vent.DueOpen, Wanted: vent.Wanted{Kind: vent.DueClean, Day: day("2031-05-05"), Latest: day("2031-06-05")}}}
	c, err := CourseOf(in, day("2040-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	if c.Due.Day != day("2031-05-05") || c.Likely[len(c.Likely)-1].On < day("2040-01-01") {
		t.Errorf("due %s, likely to %s", c.Due.Day, c.Likely[len(c.Likely)-1].On)
	}
}

func TestCourseOfWhatEndedOrIsEmpty(t *testing.T) {
	in := yearly(0.9)
	in.Run.Ended = day("2030-01-01")
	c, err := CourseOf(in, 0)
	if err != nil || c.Likely != nil || c.Due != nil || len(c.Readings) == 0 {
		t.Errorf("ended: %+v, %v", c, err)
	}
	empty := reference()
	empty.Findings = nil
	if c, err = CourseOf(empty, 0); err != nil || len(c.Readings) != 0 || len(c.Likely) == 0 {
		t.Errorf("never looked at: %+v, %v", c, err)
	}
	if _, err = CourseOf(Input{}, 0); err == nil {
		t.Error("a run without a version has no course")
	}
}

// Whatever was found: courses stand in order, never rise, and lie with the limit between nothing and all of the flow.
func TestCourseNeverRises(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 7))
	for range 60 {
		var found []float64
		for range dice.IntN(5) {
			found = append(found, 0.4+0.7*dice.Float64())
		}
		in := yearly(found...)
		c, err := CourseOf(in, in.Run.Known.AddDays(dice.IntN(4000)))
		if err != nil {
			t.Fatal(err)
		}
		if !(c.Limit > 0 && c.Limit < 1) {
			t.Errorf("limit %v", c.Limit)
		}
		for i, x := range c.Likely {
			if !(0 <= x.Low && x.Low <= x.Middle && x.Middle <= x.High && x.High <= 1) {
				t.Fatalf("%v: out of order %+v", found, x)
			}
			if i > 0 && (x.On <= c.Likely[i-1].On || x.Low > c.Likely[i-1].Low+1e-12 || x.Middle > c.Likely[i-1].Middle+1e-12 || x.High > c.Likely[i-1].High+1e-12) {
				t.Fatalf("%v: %+v rises after %+v", found, x, c.Likely[i-1])
			}
		}
	}
}

// A rebuilt run is held against its own clean value: after the rebuilding the same speed is another share.
func TestReadingsBelongToTheirVersion(t *testing.T) {
	in := yearly(0.9, 0.9)
	before, err := CourseOf(in, 0)
	if err != nil {
		t.Fatal(err)
	}
	v := in.Run.Versions[0]
	route := *v.Route
	route.Sections = append(route.Sections[:0:0], route.Sections...)
	route.Sections[0].Length *= 3
	v.Route, v.From = &route, in.Findings[len(in.Findings)-1].Date.AddDays(10)
	in.Run.Versions = append(in.Run.Versions[:1:1], v)
	after, err := CourseOf(in, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(before.Readings) != len(after.Readings) || after.CleanSpeed >= before.CleanSpeed {
		t.Fatalf("%d and %d readings, clean %v and %v m/s", len(before.Readings), len(after.Readings), before.CleanSpeed, after.CleanSpeed)
	}
	for i := range before.Readings {
		if a, b := before.Readings[i].Share, after.Readings[i].Share; a < b-0.02 || a > b+0.02 {
			t.Errorf("the reading of %s was %v of the clean flow and is %v", before.Readings[i].On, a, b)
		}
	}
}
