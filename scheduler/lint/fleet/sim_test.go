package fleet

import (
	"container/heap"
	"math"
	"math/rand/v2"
	"sync"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// start is the day on which every run of the fleet is new.
var start = vent.NewDate(2010, 1, 1)

// client is what a planner is told of one run, and what the world keeps of it.
type client struct {
	truth    *run
	noise    *rand.Rand // of cycles, cleanings and instruments, the same for every planner
	run      vent.Run
	dryer    vent.Appliance
	unit     vent.Unit
	site     vent.Site
	findings []vent.Finding
	own      any // the planner's

	lint    float64   // left by the last cleaning
	cleaned float64   // day of it
	cycle   float64   // this cycle's deviation
	due     float64   // day of the next cleaning
	path    []float64 // lint week by week since the last cleaning, as if nobody came
	nest    float64   // day of the first nest since then; +Inf none
	flowIn  float64   // share of the flow that the nest leaves
}

// verdict is what a planner wants: the day of the next cleaning, and the days on which it says a chance is reached.
type verdict struct {
	day vent.Date
	// stated is the chance said of day where no bound cut it; 0 where one did.
	stated float64
}

var levels = [4]float64{0.05, 0.10, 0.20, 0.50}

type planner func(c *client, site []*client) verdict

// score sums a fleet's fate.
type score struct {
	years, cleanings, weeks float64
	visits, past            float64 // visits, and those that found the run past its limit
	due, wrong              float64 // due days that no bound cut, and how many found the run past its limit
	by                      [nCauses]part
}

// part is what cycles of one kind cost.
type part struct{ cycles, weeks, due, wrong float64 }

func (s *score) add(o score) {
	s.years += o.years
	s.cleanings += o.cleanings
	s.weeks += o.weeks
	s.visits += o.visits
	s.past += o.past
	s.due += o.due
	s.wrong += o.wrong
	for i, p := range o.by {
		s.by[i].cycles += p.cycles
		s.by[i].weeks += p.weeks
		s.by[i].due += p.due
		s.by[i].wrong += p.wrong
	}
}

func (s score) perYear() float64   { return s.cleanings / s.years }
func (s score) clogged() float64   { return s.weeks / s.years }
func (s score) pastShare() float64 { return s.past / s.visits }

// fleet is a world with its runs drawn.
type fleet struct {
	world
	seed  uint64
	sites [][]*run
}

// fleet draws the runs of a world.
func (w world) fleet(seed uint64) *fleet {
	runs := w.runs
	if runs == 0 {
		runs = 4000
	}
	f := &fleet{world: w, seed: seed, sites: make([][]*run, (runs+perSite-1)/perSite)}
	for s := range f.sites {
		shift := siteSpread * normalOf(seed, s)
		for i := range perSite {
			f.sites[s] = append(f.sites[s], w.draw(seed, s, i, shift))
		}
	}
	return f
}

// simulate lives the years of a fleet under a planner, site by site, on all cores. The result does not depend on how many.
func (f *fleet) simulate(p planner) score {
	w := f.world
	parts := make([]score, len(f.sites))
	var wg sync.WaitGroup
	next := make(chan int)
	for range 2 {
		wg.Go(func() {
			for s := range next {
				parts[s] = w.liveSite(f.seed, s, f.sites[s], p)
			}
		})
	}
	for s := range f.sites {
		next <- s
	}
	close(next)
	wg.Wait()
	var total score
	for _, x := range parts {
		total.add(x)
	}
	return total
}

// queue orders the clients of a site by their next visit.
type queue []*client

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].due < q[j].due }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)        { *q = append(*q, x.(*client)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

func (w world) liveSite(seed uint64, site int, runs []*run, p planner) (total score) {
	clients := make([]*client, len(runs))
	q := make(queue, 0, perSite)
	for i := range clients {
		clients[i] = w.client(seed, site, i, runs[i])
	}
	for _, c := range clients {
		w.ask(c, clients, p, &total)
		q = append(q, c)
	}
	heap.Init(&q)
	end := years * yearDays
	for q[0].due < end {
		c := q[0]
		w.visit(c, &total)
		w.ask(c, clients, p, &total)
		heap.Fix(&q, 0)
	}
	for _, c := range clients {
		c.spent(end, &total)
		total.years += years
	}
	return total
}

func (w world) client(seed uint64, site, i int, r *run) *client {
	d := &airflow.Duct{
		Sections: []airflow.Section{{
			Material: [...]airflow.Material{airflow.SmoothMetal, airflow.SemiRigid, airflow.FoilFlex}[r.kind],
			Length:   airflow.Meters(r.meters), Diameter: airflow.Inches(4),
		}},
		Outlet: airflow.Outlet{Kind: airflow.OutletFlapper},
	}
	if r.elbows > 0 {
		d.Fittings = []airflow.Fitting{{Kind: airflow.Mitered90, Count: r.elbows}}
	}
	most := r.maker
	if most > 1000 {
		most = 2000
	}
	c := &client{
		truth: r,
		noise: rand.New(rand.NewPCG(seed+99, uint64(site*1000+i))),
		run: vent.Run{
			ID: idOf(1, site, i, 0), SiteID: idOf(2, site, 0, 0), Name: "run", Shape: vent.Single, Known: start,
			Versions: []vent.Version{{From: start, Route: d, Measured: true, Uninsulated: r.cold}},
			Use:      []vent.Use{{LoadsPerWeek: r.told * week, Source: vent.UseTold}},
		},
		dryer: vent.Appliance{Kind: vent.Dryer, Fuel: vent.Electric, MaxStatic: airflow.Pascals(most)},
		unit:  vent.Unit{Kind: vent.House, Pets: r.pets},
		site:  vent.Site{ID: idOf(2, site, 0, 0)},
	}
	c.begin(w, 0)
	return c
}

func idOf(kind, site, i, n int) vent.ID {
	return vent.ID{0: byte(kind), 4: byte(site >> 8), 5: byte(site), 8: byte(i), 14: byte(n >> 8), 15: byte(n)}
}

// begin starts a cycle on day t and works out its course as if nobody came.
func (c *client) begin(w world, t float64) {
	r := c.truth
	c.cleaned, c.cycle = t, math.Exp(cycleSpread*c.noise.NormFloat64())
	c.nest, c.flowIn = math.Inf(1), 0.2+0.4*c.noise.Float64()
	for _, n := range r.nests {
		if n > t {
			c.nest = n
			break
		}
	}
	c.path = c.path[:0]
	lint := c.lint
	for k := range 150 {
		c.path = append(c.path, lint)
		lint = r.step(w.law, lint, r.use(t+week*(float64(k)+0.5))*week, c.cycle)
	}
}

// lintOn is the lint of a day since the last cleaning.
func (c *client) lintOn(t float64) float64 {
	x := (t - c.cleaned) / week
	i := min(max(int(x), 0), len(c.path)-2)
	return c.path[i] + math.Min(x-float64(i), 1)*(c.path[i+1]-c.path[i])
}

func (c *client) pastOn(t float64) bool { return t >= c.nest || c.lintOn(t) > c.truth.limit }

// pastBetween is the number of days past the limit.
func (c *client) pastBetween(a, b float64) float64 {
	if b <= a {
		return 0
	}
	lo, hi := a, b
	switch {
	case c.pastOn(a):
		return b - a
	case !c.pastOn(b):
		return 0
	}
	for range 40 { // lint never falls by itself
		if mid := (lo + hi) / 2; c.pastOn(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return b - hi
}

// ask has the planner set the next day, and notes what it said.
func (w world) ask(c *client, site []*client, p planner, total *score) {
	v := p(c, site)
	c.due = math.Max(float64(start.DaysUntil(v.day)), c.cleaned+1)
	end := years * yearDays
	if v.stated > 0 && c.due < end {
		kind := &total.by[c.cause(c.due)]
		total.due++
		kind.due++
		if c.pastOn(c.due) {
			total.wrong++
			kind.wrong++
		}
	}
}

// visit opens, reads, cleans and reads again.
func (w world) visit(c *client, total *score) {
	r, t := c.truth, c.due
	total.visits++
	total.cleanings++
	c.spent(t, total)
	if c.pastOn(t) {
		total.past++
	}
	nested := t >= c.nest
	f := vent.Finding{
		ID: idOf(3, 0, 0, len(c.findings)+1), RunID: c.run.ID, Date: start.AddDays(int(t)), Source: "visit",
		By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full,
	}
	f.ID[4], f.ID[5], f.ID[8] = c.run.ID[4], c.run.ID[5], c.run.ID[8]
	lint := c.lintOn(t)
	flow := r.duct.at(lint)
	flagged := c.noise.Float64() < 0.5
	if nested {
		flow = math.Min(flow, c.flowIn)
		f.Sudden = flagged // half the technicians write down that it was a nest
	}
	f.Before = w.read(c, flow)
	c.lint = 0
	if u := c.noise.Float64(); u < w.poor {
		c.lint = 0.4 * lint
	}
	f.After = w.read(c, r.duct.at(c.lint))
	c.findings = append(c.findings, f)
	c.begin(w, t)
}

// read is one reading of air speed at the outlet, or none.
func (w world) read(c *client, share float64) []vent.Reading {
	u, z, e := c.noise.Float64(), c.noise.NormFloat64(), c.noise.Float64()
	if u < w.missing {
		return nil
	}
	err := 0.02 // a good vane anemometer in a skilled hand
	if w.instrument {
		err = 0.03 + 0.02*e
	}
	return []vent.Reading{{
		Quantity: vent.AirSpeed, Value: c.truth.duct.speed() * share * math.Exp(err*z),
		Conditions: []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen, vent.WarmDryer, vent.PushedBack},
	}}
}
