package visits

import "math"

// earthKm is the Earth's mean radius in km (IUGG mean radius R1, 6371.0088).
const earthKm = 6371.0088

// mostTable is up to how many places the minutes between all of them are kept ready.
const mostTable = 700

// roads gives driving minutes between places, numbered sites first, then homes.
type roads struct {
	points  [][3]float64 // on the unit sphere
	known   []bool
	perUnit float64 // minutes for one Earth radius of great circle
	unknown int32
	table   []int32 // minutes by from*len(points)+to; nil where there are too many places
}

// Minutes is how long it takes from one place to another; a place that is not known is nil.
func (t Travel) Minutes(from, to *Place) int {
	r := newRoads(t, []*Place{from, to})
	return int(r.minutes(0, 1))
}

func newRoads(t Travel, places []*Place) roads {
	r := roads{
		points: make([][3]float64, len(places)), known: make([]bool, len(places)),
		perUnit: earthKm * t.Factor / t.KmPerHour * 60, unknown: int32(t.Unknown),
	}
	for i, p := range places {
		if p == nil {
			continue
		}
		lat, lon := p.Lat*math.Pi/180, p.Lon*math.Pi/180
		r.points[i] = [3]float64{math.Cos(lat) * math.Cos(lon), math.Cos(lat) * math.Sin(lon), math.Sin(lat)}
		r.known[i] = true
	}
	if n := len(places); n <= mostTable {
		table := make([]int32, n*n)
		for i := range places {
			for j := range places {
				table[i*n+j] = r.minutes(int32(i), int32(j))
			}
		}
		r.table = table
	}
	return r
}

// minutes from a to b: the great circle by its chord, which is exact for near places too.
// Rounding up keeps a detour from ever being shorter than the way itself.
func (r *roads) minutes(a, b int32) int32 {
	if a == b {
		return 0
	}
	if r.table != nil {
		return r.table[int(a)*len(r.points)+int(b)]
	}
	if !r.known[a] || !r.known[b] {
		return r.unknown
	}
	p, q := &r.points[a], &r.points[b]
	x, y, z := p[0]-q[0], p[1]-q[1], p[2]-q[2]
	return int32(math.Ceil(r.perUnit*angle(x*x+y*y+z*z) - 1e-9))
}

// angle is the great circle, in radians, over a chord whose square is given: 2 asin(c/2). Up to 0.1 the first terms of its series
// are exact to a part in 10^9, and several times faster.
func angle(squared float64) float64 {
	if squared > 0.01 {
		return 2 * math.Asin(min(1, math.Sqrt(squared)/2))
	}
	q := squared / 4
	return math.Sqrt(squared) * (1 + q*(1./6+q*(3./40+q*(15./336))))
}
