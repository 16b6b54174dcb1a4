package visits

import (
	"math"
	"slices"
)

// neighbours is how many nearest sites each site knows.
const neighbours = 10

// nearest gives for each site those nearest to it, the nearest first; for one without coordinates just some others. Sites are swept in order of latitude and a sweep ends
// where the latitude alone is farther than what was found, so that the work grows little faster than their number.
func nearest(r *roads, sites []Site) [][]int32 {
	order := make([]int32, 0, len(sites))
	for i := range sites {
		if sites[i].Place != nil {
			order = append(order, int32(i))
		}
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		switch x, y := sites[a].Place.Lat, sites[b].Place.Lat; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return int(a - b)
	})
	out := make([][]int32, len(sites))
	for i := range sites { // nobody knows where these are: any others will do
		for j := 1; sites[i].Place == nil && j <= min(neighbours, len(sites)-1); j++ {
			out[i] = append(out[i], int32((i+j)%len(sites)))
		}
	}
	for at, s := range order {
		out[s] = sweep(r, sites, order, at)
	}
	return out
}

type neighbour struct {
	site int32
	far  float64 // squared chord
}

func sweep(r *roads, sites []Site, order []int32, at int) []int32 {
	self := order[at]
	var found []neighbour
	try := func(i int) (goOn bool) {
		other := order[i]
		if len(found) == neighbours {
			// The chord of the latitudes' difference is the least that the whole chord can be.
			gap := 2 * math.Sin(math.Abs(sites[other].Place.Lat-sites[self].Place.Lat)*math.Pi/360)
			if gap*gap > found[neighbours-1].far {
				return false
			}
		}
		p, q := r.points[self], r.points[other]
		x, y, z := p[0]-q[0], p[1]-q[1], p[2]-q[2]
		n := neighbour{other, x*x + y*y + z*z}
		where, _ := slices.BinarySearchFunc(found, n, func(a, b neighbour) int {
			switch {
			case a.far < b.far || a.far == b.far && a.site < b.site:
				return -1
			case a.site == b.site:
				return 0
			}
			return 1
		})
		if where < neighbours {
			found = slices.Insert(found, where, n)
			found = found[:min(len(found), neighbours)]
		}
		return true
	}
	up, down := at+1, at-1
	for up < len(order) && try(up) {
		up++
	}
	for down >= 0 && try(down) {
		down--
	}
	out := make([]int32, len(found))
	for i, n := range found {
		out[i] = n.site
	}
	return out
}
