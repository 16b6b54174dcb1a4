package picture

import (
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// entry explains one kind of mark. draw puts it around a place.
type entry struct {
	words string
	draw  func(x, y float64)
}

const (
	lineHeight = 19.0
	symbol     = 24.0 // room before the words
)

// entries lists the marks that stand in the picture.
func (p *plot) entries() (all []entry) {
	add := func(key string, draw func(x, y float64), pairs ...string) {
		all = append(all, entry{p.w.Say(key, pairs...), draw})
	}
	for _, q := range []vent.Quantity{vent.AirSpeed, vent.Flow, vent.Static} {
		if slices.ContainsFunc(p.Course.Readings, func(r lint.Measured) bool { return r.Reading.Quantity == q && p.shown(r.On) }) {
			add("page.reading."+string(q), func(x, y float64) { p.mark(q, x, y, true) })
		}
	}
	if slices.ContainsFunc(p.Course.Readings, func(r lint.Measured) bool { return !r.After && p.shown(r.On) }) {
		add("picture.key.before", func(x, y float64) { p.mark(vent.AirSpeed, x, y, false) })
	}
	for _, whole := range []bool{true, false} {
		key := map[bool]string{true: "picture.key.cleaned", false: "picture.key.partly"}[whole]
		for _, c := range p.Course.Cleanings {
			if p.shown(c.On) && (c.Outcome == vent.Full) == whole {
				add(key, func(x, y float64) { p.triangle(x, y, whole) })
				break
			}
		}
	}
	if len(p.Course.Likely) > 0 {
		add("picture.key.fan", func(x, y float64) {
			p.put(`<rect class="flow-fan" fill="currentColor" fill-opacity=".16" stroke="none" x="%v" y="%v" width="18" height="10"/><path class="flow-middle" stroke-width="2" d="M%v %vh18"/>`, x-9, y-5, x-9, y)
		})
	}
	if p.Course.Limit > 0 {
		add("picture.key.limit", func(x, y float64) {
			p.put(`<path class="flow-limit" stroke-width="1.6" stroke-dasharray="6 4" d="M%v %vh18"/>`, x-9, y)
		}, "share", p.w.Percent(p.Course.Limit))
	}
	if d := p.Course.Due; d != nil && d.Earliest != 0 && d.Latest >= p.from {
		add("picture.key.window", func(x, y float64) {
			p.put(`<rect class="flow-window" x="%v" y="%v" width="18" height="6" fill="currentColor" fill-opacity=".55" stroke="none"/>`, x-9, y-3)
		})
	}
	return all
}

// set places the legend's entries one after the other, in lines; it gives the number of lines.
func (p *plot) set(all []entry, place func(e entry, x float64, line int)) int {
	x, line := 4.0, 0
	for i, e := range all {
		need := symbol + breadth(e.words)
		if i > 0 && x+need > width-2 {
			x, line = 4, line+1
		}
		place(e, x, line)
		x += need + 14
	}
	return line + 1
}

func (p *plot) legendHeight() float64 {
	return lineHeight * float64(p.set(p.entries(), func(entry, float64, int) {}))
}

func (p *plot) legend() {
	p.set(p.entries(), func(e entry, x float64, line int) {
		y := p.below + lineHeight*(float64(line)+0.5) + 4
		e.draw(x+9, y)
		p.text(x+symbol, y+4, "start", "", e.words)
	})
}
