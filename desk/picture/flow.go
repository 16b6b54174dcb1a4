// Package picture draws. It turns numbers into SVG and asks nothing and nobody else: the same numbers give the same
// bytes.
package picture

import (
	"math"

	"ventdue/desk/wording"
	"ventdue/scheduler"
	"ventdue/vent"
)

// Flow is what the picture of a run's flow over time is drawn from.
type Flow struct {
	Course scheduler.Course
	Where  string    // names the run, for the title
	Today  vent.Date // marked where it is given; 0: not
	// Alone makes a file that stands for itself, on white paper. Otherwise the picture is part of a page and takes the
	// page's colour; classes let a stylesheet say more.
	Alone bool
}

// SVG draws the picture: 400 wide, readable from 350 px on. Without readings and without likely courses it is empty but for
// its frame and a word that says so.
func (f Flow) SVG(w wording.Words) []byte {
	p := newPlot(f, w)
	p.open(f.title(w), f.Text(w))
	p.grid()
	p.window()
	p.fan()
	p.limit()
	p.cleanings()
	p.readings()
	p.days()
	if len(f.Course.Readings) == 0 && len(f.Course.Likely) == 0 {
		p.text(width/2, (top+bottom)/2, "middle", "", w.Say("picture.empty"))
	}
	p.legend()
	return p.close()
}

func (f Flow) title(w wording.Words) string { return w.Say("picture.title", "where", f.Where) }

// The picture's measures: the frame of the plot in a picture of this width; everything below the frame follows from it.
const (
	width       = 400.0
	left, right = 42.0, 390.0
	top, bottom = 34.0, 214.0
	strip       = bottom + 10 // middle of the line on which cleanings stand
	fontSize    = 12
)

// oldest is how many days before the open cycle the picture reaches back at most; older readings would press the rest
// together.
const oldest = 6 * 366

// plot knows where a day and a share stand.
type plot struct {
	svg
	Flow
	w        wording.Words
	from, to vent.Date
	low, up  float64
	below    float64 // where the next line of the legend stands
}

func newPlot(f Flow, w wording.Words) *plot {
	p := &plot{Flow: f, w: w}
	p.span()
	p.low, p.up = p.shares()
	p.below = row - 8 + p.rows()*rowHeight
	return p
}

// span finds the first and the last day shown.
func (p *plot) span() {
	c := p.Course
	first := c.Since
	for _, r := range c.Readings {
		first = min(first, r.On)
	}
	for _, x := range c.Cleanings {
		first = min(first, x.On)
	}
	if len(c.Likely) == 0 {
		for _, r := range c.Readings {
			p.to = max(p.to, r.On)
		}
		for _, x := range c.Cleanings {
			p.to = max(p.to, x.On)
		}
	} else {
		p.to = c.Likely[len(c.Likely)-1].On
	}
	p.from = max(first, c.Since.AddDays(-oldest))
	p.to = max(p.to, p.Today, c.Since, p.from.AddDays(60))
	p.from = p.from.AddDays(-p.from.DaysUntil(p.to) / 40) // what stands on the first day is not cut by the frame
}

// shares finds the lowest and the highest share shown, in fifths.
func (p *plot) shares() (low, up float64) {
	low, up = p.Course.Limit-0.1, 1.0
	for _, r := range p.Course.Readings {
		if p.shown(r.On) {
			low, up = min(low, r.Share-0.02), max(up, r.Share+0.02)
		}
	}
	for _, x := range p.Course.Likely {
		low = min(low, x.Low)
	}
	low = math.Floor(low*5) / 5
	return max(0, min(0.6, low)), up + 0.04
}

func (p *plot) shown(d vent.Date) bool { return d >= p.from && d <= p.to }

// x gives where a day stands, held inside the frame.
func (p *plot) x(d vent.Date) float64 {
	share := float64(p.from.DaysUntil(d)) / float64(p.from.DaysUntil(p.to))
	return left + (right-left)*min(1, max(0, share))
}

// y gives where a share stands, held inside the frame.
func (p *plot) y(share float64) float64 {
	share = min(1, max(0, (share-p.low)/(p.up-p.low)))
	return bottom - (bottom-top)*share
}
