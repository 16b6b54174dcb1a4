package desk_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"ventdue/internal/scene"
	"ventdue/scheduler"
	"ventdue/vent"
)

// TestBacktest: the office replays all runs, more than it loads at once, in whatever state they are, and changes nothing.
func TestBacktest(t *testing.T) {
	s := scene.Start(t, time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	empty, err := s.Desk.Backtest(t.Context())
	if err != nil || empty.Stored != 0 || empty.Trust != scheduler.TooLittle || empty.Failed != 0 {
		t.Fatalf("%+v, %v", empty, err)
	}
	const houses = 260
	visit := func(h scene.Home, on vent.Date, before float64) {
		f := vent.Finding{RunID: h.Run, Date: on, Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough,
			Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: before}}, After: []vent.Reading{{Quantity: vent.AirSpeed, Value: 7.5}}}
		if _, err := s.Desk.Record(s.By(), f); err != nil {
			t.Fatal(err)
		}
	}
	for i := range houses {
		h := s.House(fmt.Sprintf("Wren %03d", i), "America/New_York")
		if i != 0 && i != houses-1 {
			continue
		}
		for k, speed := range []float64{6.9, 6.8, 3.1} {
			visit(h, vent.NewDate(2022+k, 5, 2), speed)
		}
	}
	got, err := s.Desk.Backtest(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	// Of two runs with three visits each the first has no known cleaning before it; the last found 3.1 of about 7.5 m/s.
	if got.Stored != houses || got.Runs != 2 || got.Visits != 6 || got.Unforetold != 2 || got.Compared != 4 || got.All.Past != 2 || got.Fixed.Cycles != 4 {
		t.Errorf("%+v", got)
	}
	again, err := s.Desk.Backtest(t.Context())
	if err != nil || again.Fixed != got.Fixed || again.Flow != got.Flow || again.All != got.All {
		t.Errorf("the second time %+v, %v", again, err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := s.Desk.Backtest(ctx); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
