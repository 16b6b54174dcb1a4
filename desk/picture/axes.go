package picture

import (
	"math"
	"strconv"
	"time"

	"ventdue/vent"
)

// grid draws the frame, the lines of the shares and the days below.
func (p *plot) grid() {
	p.put(`<g class="flow-grid" stroke-opacity=".25">`)
	for _, share := range p.lines() {
		p.put(`<path d="M%v %vH%v"/>`, left, p.y(share), right)
	}
	p.put("</g>\n")
	for _, share := range p.lines() {
		if math.Abs(p.y(share)-p.y(p.Course.Limit)) >= fontSize { // the limit writes its own figure there
			p.text(left-5, p.y(share)+4, "end", "flow-soft", p.w.Percent(share))
		}
	}
	speed := p.w.Speed(speedOf(p.Course))
	p.text(2, 12, "start", "flow-soft", p.w.Say("picture.axis", "speed", speed))
	p.put(`<path d="M%v %vV%vH%v"/>`+"\n", left, top, bottom, right)
	p.ticks()
}

// lines lists the shares that have a line: every fifth.
func (p *plot) lines() (all []float64) {
	for n := 0; n <= 6; n++ {
		if share := float64(n) / 5; share >= p.low-1e-9 && share <= p.up {
			all = append(all, share)
		}
	}
	return all
}

// stepMonths are the distances between named days, in months; the first that leaves room is taken.
var stepMonths = []int{1, 2, 3, 6, 12, 24, 60, 120, 240}

const (
	tickRoom  = 46         // between two names
	row       = strip + 23 // of the first line of names
	rowHeight = 14
)

// rows gives how many lines of words stand below the frame: months, years, today.
func (p *plot) rows() float64 {
	n := 1.0
	if p.tickStep() < 12 {
		n++
	}
	if p.Today != 0 && p.shown(p.Today) {
		n++
	}
	return n
}

// tickStep chooses how many months lie between two named days.
func (p *plot) tickStep() int {
	perMonth := (right - left) / (float64(p.from.DaysUntil(p.to)) / (365.25 / 12))
	for _, m := range stepMonths {
		if float64(m)*perMonth >= tickRoom {
			return m
		}
	}
	return stepMonths[len(stepMonths)-1]
}

// ticks names days: months with the year below, or years alone.
func (p *plot) ticks() {
	step, first := p.tickStep(), true
	year, month, _ := p.from.Split()
	for at := year*12 + int(month) - 1; ; at++ {
		y, m := at/12, at%12
		d := vent.NewDate(y, time.Month(m+1), 1)
		if d > p.to {
			return
		}
		if at%step != 0 || d < p.from {
			continue
		}
		x := p.x(d)
		p.put(`<path d="M%v %vv4"/>`, x, bottom)
		name := strconv.Itoa(y)
		if step < 12 {
			name = p.w.Say("picture.month." + strconv.Itoa(m+1))
			if first || m < step {
				p.text(p.held(x, strconv.Itoa(y)), row+rowHeight, "middle", "flow-soft", strconv.Itoa(y))
			}
			first = false
		}
		p.text(p.held(x, name), row, "middle", "flow-soft", name)
	}
}

// held moves the middle of words so that they stay inside the picture.
func (p *plot) held(x float64, words string) float64 {
	half := breadth(words) / 2
	return max(2+half, min(width-2-half, x))
}

// limit draws the line below which the run counts as choked, with its figure.
func (p *plot) limit() {
	if p.Course.Limit <= 0 {
		return
	}
	y := p.y(p.Course.Limit)
	p.put(`<path class="flow-limit" stroke-width="1.6" stroke-dasharray="6 4" d="M%v %vH%v"/>`+"\n", left, y, right)
	p.text(left-5, y+4, "end", "flow-strong", p.w.Percent(p.Course.Limit))
}

// days marks the day of the next cleaning and today.
func (p *plot) days() {
	if p.Today != 0 && p.shown(p.Today) {
		x := p.x(p.Today)
		p.put(`<path class="flow-today" stroke-dasharray="1.5 3" d="M%v %vV%v"/>`+"\n", x, top-4, bottom+4)
		words := p.w.Say("picture.today")
		p.text(p.held(x, words), p.below-rowHeight+8, "middle", "flow-strong", words)
	}
	if d := p.Course.Due; d != nil && p.shown(d.Day) {
		x := p.x(d.Day)
		words := p.w.Say("picture.due", "date", p.w.Date(d.Day))
		p.put(`<path class="flow-due" stroke-width="2" d="M%v %vV%v"/>`, x, top, bottom)
		p.put(`<path class="flow-due" fill="currentColor" stroke="none" d="M%v %vl-5 -7h10z"/>`, x, top)
		switch { // an anchor at the frame's edge holds whatever the font is
		case x > left+(right-left)*0.6:
			p.text(right, top-10, "end", "flow-strong", words)
		case x < left+(right-left)*0.4:
			p.text(left, top-10, "start", "flow-strong", words)
		default:
			p.text(x, top-10, "middle", "flow-strong", words)
		}
	}
}
