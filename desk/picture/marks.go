package picture

import (
	"ventdue/scheduler"
	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

func speedOf(c scheduler.Course) airflow.MetersPerSecond {
	return airflow.MetersPerSecond(c.CleanSpeed)
}

// window draws from when to when the next cleaning is sensible, as a bar on the frame's foot.
func (p *plot) window() {
	d := p.Course.Due
	if d == nil || d.Earliest == 0 || d.Latest < p.from {
		return
	}
	a, b := p.x(d.Earliest), p.x(d.Latest)
	p.put(`<rect class="flow-window" x="%v" y="%v" width="%v" height="6" fill="currentColor" fill-opacity=".55" stroke="none"/>`+"\n", a, bottom-6, max(2, b-a))
}

// fan draws the likely courses: eight of ten lie in the band, half of them below its middle line.
func (p *plot) fan() {
	all := p.Course.Likely
	if len(all) == 0 {
		return
	}
	p.put(`<path class="flow-fan" fill="currentColor" fill-opacity=".16" stroke="none" d="`)
	for i, x := range all {
		p.put("%s%v %v", moveOrLine(i), p.x(x.On), p.y(x.High))
	}
	for i := len(all) - 1; i >= 0; i-- {
		p.put("L%v %v", p.x(all[i].On), p.y(all[i].Low))
	}
	p.put(`Z"/>` + "\n")
	p.course(all, `class="flow-low" stroke-width="1" stroke-opacity=".7"`, func(x lint.Future) float64 { return x.Low })
	p.course(all, `class="flow-middle" stroke-width="2"`, func(x lint.Future) float64 { return x.Middle })
}

func (p *plot) course(all []lint.Future, how string, share func(lint.Future) float64) {
	p.put(`<path %s d="`, how)
	for i, x := range all {
		p.put("%s%v %v", moveOrLine(i), p.x(x.On), p.y(share(x)))
	}
	p.put(`"/>` + "\n")
}

func moveOrLine(i int) string {
	if i == 0 {
		return "M"
	}
	return "L"
}

// cleanings stand on a strip of their own below the frame, with a thin line up to the readings of that day.
func (p *plot) cleanings() {
	for _, c := range p.Course.Cleanings {
		if !p.shown(c.On) {
			continue
		}
		x := p.x(c.On)
		p.put(`<path class="flow-grid" stroke-opacity=".25" d="M%v %vV%v"/>`, x, top, bottom)
		p.told(p.w.Date(c.On)+": "+p.w.Say("page.outcome."+string(c.Outcome)), func() { p.triangle(x, strip, c.Outcome == vent.Full) })
	}
}

func (p *plot) triangle(x, y float64, whole bool) {
	p.put(`<path class="flow-cleaning" %s d="M%v %vl5 9h-10z"/>`, filled(whole), x, y-5)
}

// filled fills a mark, or leaves it open so that what is below it still shows.
func filled(yes bool) string {
	if yes {
		return `fill="currentColor"`
	}
	return `fill="none"`
}

// readings draws every reading with the shape of its instrument: open where it was taken before the work, filled after.
func (p *plot) readings() {
	for _, r := range p.Course.Readings {
		if !p.shown(r.On) {
			continue
		}
		p.told(p.readingText(r), func() { p.mark(r.Reading.Quantity, p.x(r.On), p.y(r.Share), r.After) })
	}
}

func (p *plot) readingText(r lint.Measured) string {
	key := "picture.reading.before"
	switch {
	case r.Leak:
		key = "picture.reading.leak"
	case r.After:
		key = "picture.reading.after"
	}
	return p.w.Say(key, "date", p.w.Date(r.On), "reading", p.w.Reading(r.Reading), "share", p.w.Percent(r.Share))
}

// mark draws the shape of a kind of reading: a disc for air speed, a square for flow, a diamond for static pressure.
func (p *plot) mark(q vent.Quantity, x, y float64, full bool) {
	const how = `class="flow-reading" stroke-width="1.4" `
	switch q {
	case vent.Flow:
		p.put(`<rect %s%s x="%v" y="%v" width="7" height="7"/>`, how, filled(full), x-3.5, y-3.5)
	case vent.Static:
		p.put(`<path %s%s d="M%v %vl4.6 4.6l-4.6 4.6l-4.6 -4.6z"/>`, how, filled(full), x, y-4.6)
	default:
		p.put(`<circle %s%s cx="%v" cy="%v" r="3.8"/>`, how, filled(full), x, y)
	}
}
