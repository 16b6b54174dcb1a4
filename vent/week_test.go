package vent

import (
	"encoding/json"
	"testing"
	"time"
)

// The hours are those that the words say: 8:00 is 480 minutes after midnight, 17:00 is 1020.
func TestParseWeek(t *testing.T) {
	w, err := ParseWeek("Mon-Fri 8:00-17:00; sat 09:00-12:00")
	if err != nil {
		t.Fatal(err)
	}
	want := Week{time.Saturday: {From: 540, To: 720}}
	for d := time.Monday; d <= time.Friday; d++ {
		want[d] = Span{From: 480, To: 1020}
	}
	if w != want {
		t.Errorf("%v, want %v", w, want)
	}
	if s := w.String(); s != "mon-fri 08:00-17:00; sat 09:00-12:00" {
		t.Errorf("written %q", s)
	}
	for _, s := range []string{"", "daily 00:00-24:00", "sun 10:00-11:00", "mon,wed,fri 09:00-10:00", "sat-mon 07:30-19:45"} {
		w, err := ParseWeek(s)
		if err != nil {
			t.Errorf("%q: %v", s, err)
			continue
		}
		b, err := json.Marshal(w)
		var again Week
		if err == nil {
			err = json.Unmarshal(b, &again)
		}
		if err != nil || again != w {
			t.Errorf("%q through %s: %v, %v", s, b, again, err)
		}
	}
	for _, s := range []string{"mon", "mon 8-17", "mon 17:00-08:00", "mon 08:00-24:01", "xyz 08:00-17:00", "mon 08:61-09:00", "mon 08:00-09:00; mon 10:00-11:00", "m 08:00-09:00"} {
		if w, err := ParseWeek(s); err == nil {
			t.Errorf("%q is taken as %v", s, w)
		}
	}
}

func TestWeekdays(t *testing.T) {
	s, err := ParseWeekdays("sat-mon,wed")
	if err != nil || s.String() != "mon,wed,sat,sun" || !s.Has(time.Sunday) || s.Has(time.Tuesday) {
		t.Errorf("%v, %v", s, err)
	}
	if s, err := ParseWeekdays("mon-frei"); err == nil {
		t.Errorf("taken as %v", s)
	}
}
