package lint

import "math"

// maxClean is the most points on the axis of the clean value.
const maxClean = 40

// table holds a figure for points of log growth and clean value. Only rows first to last count, and of each row
// the columns from lo to before hi; everything else is taken as zero and may hold anything.
type table struct {
	cell        [nGrowth][maxClean]float64
	lo, hi      [nGrowth]int
	first, last int
	end         int // the last row that there is
}

// row gives the columns of a row that count.
func (t *table) row(j int) []float64 { return t.cell[j][t.lo[j]:t.hi[j]] }

// trim narrows the table to what is above a threshold. What is settled then costs nothing any more; a run that changes its
// pace finds its way back through the drift.
func (t *table) trim(least float64) {
	for j := t.first; j <= t.last; j++ {
		lo, hi := t.lo[j], t.hi[j]
		for lo < hi && !(t.cell[j][lo] > least) {
			lo++
		}
		for lo < hi && !(t.cell[j][hi-1] > least) {
			hi--
		}
		t.lo[j], t.hi[j] = lo, hi
	}
	for t.first < t.last && t.lo[t.first] >= t.hi[t.first] {
		t.first++
	}
	for t.last > t.first && t.lo[t.last] >= t.hi[t.last] {
		t.last--
	}
}

// reach gives the columns that count in any of the rows from j-n to j+n.
func (t *table) reach(j, n int) (lo, hi int) {
	lo, hi = maxClean, 0
	for i := max(t.first, j-n); i <= min(t.last, j+n); i++ {
		if t.lo[i] < t.hi[i] {
			lo, hi = min(lo, t.lo[i]), max(hi, t.hi[i])
		}
	}
	return min(lo, hi), hi
}

// smear convolves a table with a kernel along growth into another; beyond the ends of the axis the end rows go on for ever.
func (t *table) smear(into *table, k *kernel) {
	into.end = t.end
	into.first, into.last = max(0, t.first-k.n), min(t.end, t.last+k.n)
	for j := into.first; j <= into.last; j++ {
		lo, hi := t.reach(j, k.n)
		into.lo[j], into.hi[j] = lo, hi
		if lo < hi {
			row := into.cell[j][lo:hi]
			clear(row)
			t.blend(row, j, lo, k)
		}
	}
}

// blend adds the rows around j, each times the kernel's weight, to figures that begin at column lo.
func (t *table) blend(out []float64, j, lo int, k *kernel) {
	t.addTo(out, j, lo, k.weight[0])
	for d := 1; d <= k.n; d++ {
		a, b := max(0, j-d), min(t.end, j+d)
		aLo, aHi, bLo, bHi := t.span(a, lo, len(out)), t.until(a, lo, len(out)), t.span(b, lo, len(out)), t.until(b, lo, len(out))
		if aLo != bLo || aHi != bHi {
			t.addTo(out, a, lo, k.weight[d])
			t.addTo(out, b, lo, k.weight[d])
			continue
		}
		if aLo >= aHi {
			continue
		}
		w, x := k.weight[d], t.cell[a][aLo:aHi]
		y, z := t.cell[b][aLo:aHi], out[aLo-lo:aHi-lo]
		y, z = y[:len(x)], z[:len(x)]
		for i, v := range x {
			z[i] += w * (v + y[i])
		}
	}
}

// span and until give the columns of a row that count, within n columns from lo.
func (t *table) span(j, lo, n int) int {
	if j < t.first || j > t.last {
		return lo + n
	}
	return max(t.lo[j], lo)
}

func (t *table) until(j, lo, n int) int {
	if j < t.first || j > t.last {
		return lo
	}
	return min(t.hi[j], lo+n)
}

// addTo adds one row times a factor to figures that begin at column lo.
func (t *table) addTo(out []float64, j, lo int, w float64) {
	from, to := t.span(j, lo, len(out)), t.until(j, lo, len(out))
	if from >= to {
		return
	}
	in, sum := t.cell[j][from:to], out[from-lo:to-lo]
	sum = sum[:len(in)]
	for i, x := range in {
		sum[i] += w * x
	}
}

// kernel is one side of a normal kernel on the axis of growth, ends included in the sum of one.
type kernel struct {
	weight [nGrowth]float64
	n      int
}

// kernelReach is where a kernel is cut, in standard deviations.
const kernelReach = 4.0

// kernelOf makes the kernel of a variance in squared steps. A narrow one has three points; of a wider one the curve's width
// is set so that the variance on the points is the one asked for.
func kernelOf(variance float64) (k kernel) {
	if variance < 0.3 {
		k.n = 1
		k.weight[1] = max(0, variance) / 2
		k.weight[0] = 1 - 2*k.weight[1]
		if !(variance > 1e-9) {
			k.n, k.weight[0] = 0, 1
		}
		return k
	}
	k.n = min(nGrowth-1, int(kernelReach*math.Sqrt(variance))+1)
	width := variance
	for range 3 {
		sum, square := 1.0, 0.0
		k.weight[0] = 1
		for d := 1; d <= k.n; d++ {
			w := math.Exp(-float64(d*d) / (2 * width))
			k.weight[d] = w
			sum += 2 * w
			square += 2 * w * float64(d*d)
		}
		for d := range k.n + 1 {
			k.weight[d] /= sum
		}
		if variance > 2 {
			break
		}
		width += variance - square/sum
	}
	return k
}
