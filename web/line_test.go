package web

import (
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// The steps stay inside the frame, end where the outlet is, and have one dot for each turn.
func TestTheWayStaysInTheFrame(t *testing.T) {
	for turns := range 30 {
		_, dots, x, y, up := steps(turns)
		if len(dots) != min(turns, mostTurns) || x < lineLeft || x > lineEnd || y < lineTop || y > lineLow || up != (min(turns, mostTurns)%2 == 1) {
			t.Errorf("%d turns: %v, ends at %d, %d", turns, dots, x, y)
		}
		if turns > 0 && y != lineTop || turns != 1 && x != lineEnd {
			t.Errorf("%d turns end at %d, %d", turns, x, y)
		}
	}
}

func TestLineTellsLengthsAndTurns(t *testing.T) {
	f := figures{newServer(t).words(visitor{})}
	route := maple().route // 6 ft semi-rigid, 17 ft smooth, three mitred 90s
	route.Fittings = append(route.Fittings, airflow.Fitting{Kind: airflow.Mitered45, Count: 2})
	g := f.geometry(vent.Version{Route: route}, vent.Appliance{}, nil, "irc_2012")
	for _, want := range []string{">" + f.Length(airflow.Feet(6)) + "<", ">" + f.Length(airflow.Feet(17)) + "<", ">3 × 90°, 2 × 45°<", `role="img"`, "From the dryer"} {
		if !strings.Contains(string(g.Line), want) {
			t.Errorf("the line does not say %q:\n%s", want, g.Line)
		}
	}
}
