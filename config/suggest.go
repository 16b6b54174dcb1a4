package config

import "strings"

// nearest returns the known name that wrong was most likely meant to be, or "". A name given without its group, or
// with another one, is compared by its last part as well.
func nearest(wrong string, known []string) string {
	best, bestCost := "", len(wrong)/3+2
	for _, k := range known {
		cost := distance(wrong, k)
		if i := strings.LastIndex(k, "."); i >= 0 {
			tail := wrong[strings.LastIndex(wrong, ".")+1:]
			cost = min(cost, distance(tail, k[i+1:])+1)
		}
		if cost < bestCost {
			best, bestCost = k, cost
		}
	}
	return best
}

// distance is the number of letters to insert, drop, replace or swap with a neighbour (optimal string alignment) that turn a
// into b.
func distance(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			same := 1
			if a[i-1] == b[j-1] {
				same = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+same)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
