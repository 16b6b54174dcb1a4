package picture

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"ventdue/desk/wording"
	"ventdue/scheduler/visits"
)

// Ahead is the work of the coming weeks against what can be done, as a picture.
type Ahead struct {
	Weeks []visits.Load
	Alone bool // a file of its own: with its own styles
}

// The measures of the picture, in its own units.
const (
	aheadWide, aheadHigh  = 760.0, 254.0
	aheadLeft, aheadRight = 46.0, 752.0
	aheadTop, aheadBottom = 26.0, 180.0
	monthRoom             = 36.0 // between the names of two months
)

// aheadStyle is for a picture that stands alone; on a page the stylesheet has the same.
const aheadStyle = `<style>.ahead{color:#111;background:#fff;font:12px sans-serif}.ahead-work{fill:#0b5a7a}.ahead-drive{fill:#7fb3c8}.ahead-cap{fill:none;stroke:#111;stroke-width:1.5;stroke-dasharray:5 3}.ahead-late{fill:none;stroke:#111;stroke-width:2}.ahead text{fill:currentColor}</style>`

// SVG draws a bar for each week, work below and drives on top, the hours that can be worked as a dashed line, and a cross with a
// number above each week in which something is late.
func (a Ahead) SVG(w wording.Words) string {
	most := 60
	for _, l := range a.Weeks {
		most = max(most, l.Work+l.Drive, l.Capacity)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="ahead" viewBox="0 0 %v %v" role="img" aria-label="%s">`, aheadWide, aheadHigh, html.EscapeString(w.Say("picture.ahead")))
	if a.Alone {
		b.WriteString(aheadStyle)
	}
	y := func(minutes int) float64 { return aheadBottom - (aheadBottom-aheadTop)*float64(minutes)/float64(most) }
	step := (aheadRight - aheadLeft) / float64(max(1, len(a.Weeks)))
	line := make([]string, 0, len(a.Weeks))
	lastMonth, lastAt := "", -aheadWide
	for i, l := range a.Weeks {
		x := aheadLeft + step*float64(i)
		bar := func(class string, from, to int) {
			if to > from {
				fmt.Fprintf(&b, `<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, x+1, y(to), max(1, step-2), y(from)-y(to))
			}
		}
		bar("ahead-work", 0, l.Work)
		bar("ahead-drive", l.Work, l.Work+l.Drive)
		line = append(line, fmt.Sprintf("%.1f,%.1f %.1f,%.1f", x, y(l.Capacity), x+step, y(l.Capacity)))
		if l.Late > 0 {
			m := x + step/2
			fmt.Fprintf(&b, `<path class="ahead-late" d="M%.1f %vl6 6m0 -6l-6 6"/><text x="%.1f" y="10" text-anchor="middle">%d</text>`, m-3, 14, m, l.Late)
		}
		if month := w.Month(l.Monday); month != lastMonth {
			lastMonth = month
			if x-lastAt < monthRoom {
				continue
			}
			lastAt = x
			name, _, _ := strings.Cut(month, " ")
			fmt.Fprintf(&b, `<text x="%.1f" y="%v">%s</text>`, x, aheadBottom+16, html.EscapeString(string([]rune(name)[:min(3, len([]rune(name)))])))
		}
	}
	fmt.Fprintf(&b, `<polyline class="ahead-cap" points="%s"/>`, strings.Join(line, " "))
	fmt.Fprintf(&b, `<path d="M%v %vV%vH%v" fill="none" stroke="currentColor"/>`, aheadLeft, aheadTop, aheadBottom, aheadRight)
	fmt.Fprintf(&b, `<text x="%v" y="%v" text-anchor="end">%s</text><text x="%v" y="%v" text-anchor="end">0</text>`, aheadLeft-4, aheadTop+8, w.Say("visit.hours", "h", strconv.Itoa(most/60)), aheadLeft-4, aheadBottom)
	for i, line := range strings.SplitAfter(w.Say("picture.ahead.legend"), ". ") {
		fmt.Fprintf(&b, `<text x="%v" y="%v">%s</text>`, aheadLeft, aheadBottom+38+16*float64(i), html.EscapeString(line))
	}
	b.WriteString("</svg>")
	return b.String()
}
