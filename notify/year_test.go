package notify

import (
	"context"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"testing"
	"time"

	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// year is a year in the life of an installation: what happened, and what the office should have known at every moment.
type year struct {
	*scene.Scene
	t       *testing.T
	rng     *rand.Rand
	persons []*resident
	houses  []*house
	down    bool // the mail server
	tries   int
	copies  int
	got     map[string]map[string]string // per address: the local days with a reminder, and the Message-ID
	fitter  vent.ID                      // who makes the visits
	visits  int                          // mails about visits that were agreed, moved or called off
	kinds   map[vent.NoticeKind]int      // what was told in all of them
}

type resident struct {
	id     vent.ID
	email  string
	zone   *time.Location
	silent bool // unsubscribed
}

type house struct {
	scene.Home
	name     string
	fitter   vent.ID // who makes the visits
	contacts []*resident
	due      vent.Date // of the open cycle; none: nothing is due
	check    vent.Date // of a recurring check; none: there is none
	fault    vent.Date // of a fault that is to be put right; none: there is none
	visit    vent.Visit
	part     vent.Appointment // what is agreed; zero: nothing is
	cycle    byte
	mended   byte // faults so far
	ended    bool
}

// bare reports whether there is nothing to remind anybody of.
func (h *house) bare() bool {
	return h.ended || h.due == 0 && h.check == 0 && h.fault == 0 && h.part.ID.IsZero()
}

// Open and Send are a mail server of the test's own: it takes most messages, and answers some as servers do.
func (y *year) Open(context.Context) (mail.Conn, error) {
	if y.down {
		return nil, fmt.Errorf("no route to the mail server")
	}
	return y, nil
}

func (y *year) Close() error { return nil }

func (y *year) Send(_ context.Context, job mail.Job) mail.Outcome {
	y.tries++
	y.check(job)
	switch n := y.rng.IntN(100); {
	case n < 8:
		return mail.Outcome{Kind: mail.Deferred, Code: 451, Reason: "later"}
	case n < 11:
		y.arrived(job)
		return mail.Outcome{Kind: mail.Unknown, Reason: "answer lost", Ours: true, Closed: true}
	}
	y.arrived(job)
	return mail.Outcome{Kind: mail.Accepted, Code: 250}
}

var houseName = regexp.MustCompile(`House [0-9]+\b`)

// check looks at one attempt: is it the right hour, and is all of it true?
func (y *year) check(job mail.Job) {
	i := slices.IndexFunc(y.persons, func(r *resident) bool { return r.email == job.To })
	if i < 0 {
		y.t.Fatalf("%s: a mail to %s, which is nobody's address", y.Now, job.To)
	}
	r := y.persons[i]
	local := y.Now.In(r.zone)
	if h := local.Hour(); h < 8 || h >= 18 {
		y.t.Errorf("a mail at %s", local)
	}
	m := y.message(job)
	if r.silent && m.Class == "reminder" {
		y.t.Errorf("%s: a reminder to %s, who asked for none", y.Now, r.email)
	}
	named := houseName.FindAllString(readGo(y.t, job.Raw).Text, -1)
	right := 0
	for _, name := range named {
		h := y.houses[slices.IndexFunc(y.houses, func(h *house) bool { return h.name == name })]
		switch {
		case slices.Contains(h.contacts, r) && (m.Class != "reminder" || !h.bare()):
			right++
		case m.Unknowns == 0: // else the same bytes go out once more, as long as one thing in them is true
			y.t.Errorf("%s: %s is told of %s, where nothing is due for them", y.Now, r.email, name)
		}
	}
	if right == 0 {
		y.t.Errorf("%s: a mail in which nothing is true", y.Now)
	}
}

// message gives what is stored of what is sent.
func (y *year) message(job mail.Job) vent.Message {
	id, err := vent.ParseID(job.ID)
	if err != nil {
		y.t.Fatal(err)
	}
	return scene.Get(y.Scene, store.Messages, id)
}

// arrived notes a mail that reached its reader.
func (y *year) arrived(job mail.Job) {
	m := y.message(job)
	for _, id := range m.Notices {
		y.kinds[scene.Get(y.Scene, store.Notices, id).Kind]++
	}
	if m.Class != "reminder" {
		y.visits++
		return
	}
	i := slices.IndexFunc(y.persons, func(r *resident) bool { return r.email == job.To })
	day, id := y.Now.In(y.persons[i].zone).Format(time.DateOnly), readGo(y.t, job.Raw).Header["message-id"][0]
	days := y.got[job.To]
	if days == nil {
		days = map[string]string{}
		y.got[job.To] = days
	}
	if old, had := days[day]; had {
		if y.copies++; old != id {
			y.t.Errorf("%s got two mails on %s", job.To, day)
		}
	}
	days[day] = id
}

// A year for two hundred customers in zones that change their clocks in different ways, with everything that happens to them, a mail
// server that answers as servers do and is away for three weeks, and a daemon that is off for forty days: cleanings, checks and
// faults that are due, done and move, and visits that are booked, moved, called off and made. Nobody gets more
// than one reminder a day, none outside the window, none of what was done, ended or unsubscribed; after the three weeks one digest
// says all that stands; and in the end everybody who can be reached was told the last step of everything that is due.
func TestAYearForTwoHundredCustomers(t *testing.T) {
	const seed = 2026
	y := &year{Scene: scene.Start(t, noon), t: t, rng: rand.New(rand.NewPCG(seed, seed)), got: map[string]map[string]string{}, kinds: map[vent.NoticeKind]int{}}
	y.settle(200)
	o := post(y.Scene, y)
	for day := range 365 {
		y.down = day >= 100 && day < 121
		if day >= 200 && day < 240 {
			y.Now = noon.AddDate(0, 0, day+1)
			y.happen() // life goes on while the daemon is off
			continue
		}
		until := noon.AddDate(0, 0, day+1)
		for runs := 0; y.Now.Before(until); runs++ {
			if runs > 500 {
				t.Fatalf("%s: the clock is kept busy for nothing", y.Now)
			}
			next, err := work(y.Scene, o)
			if err != nil {
				next = y.Now.Add(15 * time.Minute)
			}
			if next.IsZero() || next.After(until) {
				next = until
			}
			y.Now = later(next, y.Now.Add(time.Minute))
		}
		y.Now = until
		if day == 122 { // two days after the three weeks: whoever waited has had one mail a day at most, and all is told
			y.allTold()
		}
		y.happen()
	}
	y.down = false
	for range 6 * 24 * 4 { // six quiet days
		y.Now = y.Now.Add(15 * time.Minute)
		if _, err := work(y.Scene, o); err != nil {
			t.Fatal(err)
		}
	}
	y.nothingLost()
	for _, kind := range []vent.NoticeKind{vent.NoticeRunDue, vent.NoticeCheckDue, vent.NoticeFault, vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled, vent.NoticeVisitSoon} {
		if y.kinds[kind] == 0 {
			t.Errorf("nobody was told of a %s: the year proves too little", kind)
		}
	}
	mails := 0
	for _, days := range y.got {
		mails += len(days)
	}
	t.Logf("%d persons, %d houses, %d attempts: %d reminder mails, %d about visits, %d copies under the same Message-ID; told %v", len(y.persons), len(y.houses), y.tries, mails, y.visits, y.copies, y.kinds)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// settle adds customers with one to three houses each; some have two contacts, some persons are contacts of two.
func (y *year) settle(customers int) {
	zones := []string{"America/New_York", "Australia/Lord_Howe", "America/Santiago", "Pacific/Apia", "Europe/London", "Asia/Kathmandu"}
	for i := range customers {
		zone := zones[i%len(zones)]
		loc, err := time.LoadLocation(zone)
		if err != nil {
			y.t.Fatal(err)
		}
		r := &resident{email: fmt.Sprintf("p%d@example.com", i), zone: loc}
		r.id = y.Person(fmt.Sprintf("Person %d", i), r.email)
		scene.Change(y.Scene, store.Persons, r.id, func(p *vent.Person) { p.Zone = zone })
		y.persons = append(y.persons, r)
		contacts := []*resident{r}
		if i%5 == 4 {
			contacts = append(contacts, y.persons[i-1])
		}
		for range 1 + i%3 {
			var ids []vent.ID
			for _, c := range contacts {
				ids = append(ids, c.id)
			}
			h := &house{name: fmt.Sprintf("House %d", len(y.houses)), contacts: contacts, fitter: y.Person("Tom Reed", "")}
			h.Home = y.House(h.name, zone, ids...)
			scene.Change(y.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Name = h.name })
			scene.Change(y.Scene, store.Units, h.Unit, func(u *vent.Unit) { u.Name = "door" })
			scene.Change(y.Scene, store.Runs, h.Run, func(r *vent.Run) { r.Name = "door" })
			y.houses = append(y.houses, h)
			y.open(h, y.rng.IntN(200)-20)
		}
	}
}

// open makes a house's present cycle due some days from now.
func (y *year) open(h *house, days int) {
	h.due = y.today().AddDays(days)
	y.plan(h)
}

func (y *year) today() vent.Date { return vent.InstantOf(y.Now).DateIn(time.UTC) }

// plan makes the house's dues be what they are by now.
func (y *year) plan(h *house) {
	own := func(kind, n byte) vent.ID { return vent.ID{kind, 14: n, 15: 1} }
	var wanted []vent.Wanted
	if h.due != 0 {
		wanted = append(wanted, scene.Clean(own(1, h.cycle), h.due))
	}
	if h.check != 0 {
		wanted = append(wanted, vent.Wanted{Kind: vent.DueCheck, Opener: own(2, h.cycle), Day: h.check, Earliest: h.check.AddDays(-30), Latest: h.check.AddDays(30),
			Reason: vent.Reason{Bound: vent.BoundInterval, Rule: "gas_connection", Months: 12, Since: h.check.AddMonths(-12)}})
	}
	if h.fault != 0 {
		wanted = append(wanted, vent.Wanted{Kind: vent.DueFault, Opener: own(3, h.mended), Severity: vent.Fix, Day: h.fault, Earliest: h.fault.AddDays(-30), Latest: h.fault,
			Reason: vent.Reason{Bound: vent.BoundCorrective, Rule: "flap_stuck", Since: h.fault.AddDays(-30)}})
	}
	y.Want(h.Home, vent.KindFinding, wanted...)
}

// set writes what became of the house's visit.
func (y *year) set(h *house, on vent.Date, state vent.VisitState) {
	v, a := h.visit, h.part
	v.SiteID, v.TechnicianID, v.On, v.Start, v.Minutes, v.Zone, v.State = h.Site, h.fitter, on, 10*60, 60, scene.Get(y.Scene, store.Sites, h.Site).Zone, state
	y.Update(func(tx *store.Tx) (err error) {
		if h.visit, err = store.SetVisit(tx, v, string(state)); err != nil {
			return err
		}
		if a.ID.IsZero() {
			for d, err := range store.OpenDuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: h.Run}) {
				if err != nil {
					return err
				}
				a.Dues = append(a.Dues, d.ID)
			}
		}
		a.VisitID, a.CustomerID, a.UnitID, a.Start, a.Minutes, a.State = h.visit.ID, h.Customer, h.Unit, v.Start, v.Minutes, state
		h.part, err = store.SetAppointment(tx, a, string(state))
		return err
	})
	if state != vent.Booked {
		h.visit, h.part = vent.Visit{}, vent.Appointment{}
	}
}

// happen is what happens on one day.
func (y *year) happen() {
	for _, h := range y.houses {
		booked := !h.part.ID.IsZero()
		if booked && h.visit.On <= y.today() {
			y.set(h, h.visit.On, vent.VisitDone)
			h.check, h.fault, h.cycle = 0, 0, h.cycle+1
			y.open(h, 60+y.rng.IntN(180))
			continue
		}
		switch n := y.rng.IntN(10000); {
		case h.ended:
		case n < 35 && !booked: // cleaned, and due again some months later
			h.cycle++
			y.open(h, 60+y.rng.IntN(180))
		case n < 85 && h.due != 0: // the date moves
			y.open(h, y.today().DaysUntil(h.due)+y.rng.IntN(60)-30)
		case n < 90 && !booked: // no longer needed
			h.due, h.check, h.fault = 0, 0, 0
			y.plan(h)
		case n < 94 && !booked:
			h.ended = true
			scene.Change(y.Scene, store.Customers, h.Customer, func(c *vent.Customer) { c.Ended = vent.NewDate(2020, 1, 1) })
		case n < 114:
			h.check = y.today().AddDays(y.rng.IntN(50))
			y.plan(h)
		case n < 134:
			h.fault = y.today().AddDays(5 + y.rng.IntN(25))
			y.plan(h)
		case n < 154 && h.fault != 0 && !booked: // put right
			h.fault, h.mended = 0, h.mended+1
			y.plan(h)
		case n < 190 && h.due != 0 && !booked, n < 210 && booked: // agreed, or moved
			y.set(h, y.today().AddDays(2+y.rng.IntN(25)), vent.Booked)
		case n < 220 && booked:
			y.set(h, h.visit.On, vent.Cancelled)
		}
	}
	for i, r := range y.persons {
		switch n := y.rng.IntN(10000); {
		case n < 20:
			r.silent = !r.silent
			scene.Change(y.Scene, store.Persons, r.id, func(p *vent.Person) {
				p.Consents = append(p.Consents, vent.Consent{Purpose: vent.PurposeAll, Given: !r.silent, At: vent.InstantOf(y.Now)})
			})
		case n < 40:
			r.email = fmt.Sprintf("p%d.%d@example.com", i, y.rng.IntN(1e6))
			scene.Change(y.Scene, store.Persons, r.id, func(p *vent.Person) { p.Email, p.Undeliverable = r.email, "" })
		}
	}
}

// nothingLost wants all to have been told, and nothing to wait.
func (y *year) nothingLost() {
	told := y.allTold()
	y.View(func(tx *store.Tx) error {
		waiting, err := store.CountMessagesWaiting(tx)
		if waiting != 0 {
			y.t.Errorf("%d messages still wait", waiting)
		}
		return err
	})
	if told < 100 {
		y.t.Errorf("only %d steps stand at the end: the year proves little", told)
	}
	y.t.Logf("%d steps stand at the end, all told", told)
}

// allTold wants the present step of every open due to have been told to every contact who can be reached, and counts them.
func (y *year) allTold() (told int) {
	y.View(func(tx *store.Tx) error {
		for d, err := range store.OpenDues(tx, 0, 0) {
			if err != nil {
				return err
			}
			c, err := store.Customers.Get(tx, d.CustomerID)
			if err != nil {
				return err
			}
			if _, booked, err := store.BookedFor(tx, d.ID); booked || err != nil {
				if err != nil {
					return err
				}
				continue // the visit is told of instead
			}
			for _, r := range y.persons {
				n, err := y.toldTo(tx, d, c, r)
				if told += n; err != nil {
					return err
				}
			}
		}
		return nil
	})
	return told
}

func (y *year) toldTo(tx *store.Tx, d vent.Due, c vent.Customer, r *resident) (told int, err error) {
	if c.Ended != 0 || r.silent || !slices.Contains(c.Persons, r.id) {
		return 0, nil
	}
	p, err := store.Persons.Get(tx, r.id)
	if err != nil || p.Undeliverable != "" {
		return 0, err
	}
	today := vent.InstantOf(y.Now).DateIn(r.zone)
	m := cadence.Matter{Due: d, Ladder: cadence.Default().For(vent.Customers, c, p, d)}
	step := m.On(today).Step
	if step == "" || step != m.On(today-1).Step {
		return 0, nil // nothing is to be told, or its morning is still to come
	}
	n, err := store.NoticeByKey(tx, vent.NoticeKey{PersonID: r.id, Thing: vent.Subject{Kind: vent.KindDue, ID: d.ID}, Opener: d.Opener,
		Arm: d.Arm, Step: step, Channel: vent.ByMail})
	if err != nil || n.State != vent.NoticeSent && n.State != vent.NoticeUnsure {
		y.t.Errorf("%s: %s, %s due %s: step %s was not told to %s: %s %s %v", y.Now, c.Name, d.Kind, d.Day, step, p.Email, n.State, n.Why, err)
	}
	return 1, nil
}
