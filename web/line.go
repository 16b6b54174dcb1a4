package web

import (
	"fmt"
	"html"
	"html/template"
	"strconv"
	"strings"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// The drawing's own units: a phone shows them one to one.
const (
	lineWide, lineHigh = 340, 132
	lineLeft, lineEnd  = 88, 296 // where the duct begins and ends
	lineLow, lineTop   = 100, 34
	mostTurns          = 8 // more are only counted
)

// line draws the way of the air: dryer, transition, duct with its turns, outlet, not to scale, with lengths and counts.
func (f figures) line(d airflow.Duct, v vent.Version, parts []fact) template.HTML {
	var b strings.Builder
	var told []string
	for _, p := range parts {
		told = append(told, p.Label+" "+p.Value)
	}
	fmt.Fprintf(&b, `<svg class="line" viewBox="0 0 %d %d" role="img"><title>%s</title>`, lineWide, lineHigh,
		html.EscapeString(f.Say("page.route.picture")+". "+f.Say("page.route.picture.told", "parts", strings.Join(told, ", "))))
	b.WriteString(`<rect class="thing" x="8" y="80" width="36" height="42"/><circle class="thing" cx="26" cy="103" r="11"/>`)
	text := func(x, y int, anchor, words string) {
		fmt.Fprintf(&b, `<text x="%d" y="%d" text-anchor="%s">%s</text>`, x, y, anchor, html.EscapeString(words))
	}
	fmt.Fprintf(&b, `<path class="duct%s" d="M44 %dH%d"/>`, foil(d.Transition.Material), lineLow, lineLeft)
	if d.Transition.Length > 0 {
		text((44+lineLeft)/2, lineLow+22, "middle", f.Length(d.Transition.Length))
	}
	turns, slants := turnsOf(d)
	path, dots, x, y, up := steps(turns)
	material := airflow.Material("")
	var lengths []string
	for _, s := range d.Sections {
		material = s.Material
		lengths = append(lengths, f.Length(s.Length))
	}
	fmt.Fprintf(&b, `<path class="duct%s" d="%s"/>`, foil(material), path)
	for _, at := range dots {
		fmt.Fprintf(&b, `<circle class="turn" cx="%d" cy="%d" r="4.5"/>`, at[0], at[1])
	}
	if up || v.RoofOutlet {
		fmt.Fprintf(&b, `<path class="thing" d="M%d %dv-8h-10l12-11 12 11h-10v8z"/>`, x-2, y)
	} else {
		fmt.Fprintf(&b, `<path class="thing" d="M%d %dh6l16 9v13l-22-10z"/>`, x, y-5)
	}
	text(lineLeft, 16, "start", strings.Join(lengths, " + "))
	var counted []string
	if turns > 0 {
		counted = append(counted, strconv.Itoa(turns)+" × 90°")
	}
	if slants > 0 {
		counted = append(counted, strconv.Itoa(slants)+" × 45°")
	}
	text(lineWide-8, lineHigh-8, "end", strings.Join(counted, ", "))
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // every text in it is escaped
}

// foil marks what is drawn as a corrugated line.
func foil(m airflow.Material) string {
	switch m {
	case airflow.FoilFlex, airflow.PlasticFlex, airflow.SemiRigid:
		return " foil"
	}
	return ""
}

// turnsOf counts the quarter turns and the lesser ones.
func turnsOf(d airflow.Duct) (turns, slants int) {
	for _, x := range d.Fittings {
		switch kind := string(x.Kind); {
		case strings.Contains(kind, "90"):
			turns += x.Count
		case strings.Contains(kind, "45"):
			slants += x.Count
		}
	}
	return turns, slants
}

// steps lays a duct with some quarter turns as steps from the wall outwards; it gives where it ends and whether it points up.
func steps(turns int) (path string, dots [][2]int, x, y int, up bool) {
	n := min(max(turns, 0), mostTurns)
	flat, steep := n/2+1, (n+1)/2
	x, y = lineLeft, lineLow
	path = fmt.Sprintf("M%d %d", x, y)
	for i := range n + 1 {
		if i > 0 {
			dots = append(dots, [2]int{x, y})
		}
		if up = i%2 == 1; up {
			y = lineLow - (lineLow-lineTop)*(i/2+1)/steep
			path += fmt.Sprintf("V%d", y)
		} else {
			x = lineLeft + (lineEnd-lineLeft)*(i/2+1)/flat
			path += fmt.Sprintf("H%d", x)
		}
	}
	return path, dots, x, y, up
}
