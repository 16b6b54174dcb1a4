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
	got     map[string]map[string]string // per address: the local days with mail, and the Message-ID
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
	contacts []*resident
	due      vent.Date // of the open cycle; none: nothing is due
	cycle    byte
	ended    bool
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
	if r.silent {
		y.t.Errorf("%s: a mail to %s, who asked for none", y.Now, r.email)
	}
	text := readGo(y.t, job.Raw).Text
	named := houseName.FindAllString(text, -1)
	if len(named) == 0 {
		y.t.Errorf("a mail about nothing: %s", text)
	}
	for _, name := range named {
		h := y.houses[slices.IndexFunc(y.houses, func(h *house) bool { return h.name == name })]
		if h.due == 0 || h.ended || !slices.Contains(h.contacts, r) {
			y.t.Errorf("%s: %s is told of %s, where nothing is due for them", y.Now, r.email, name)
		}
	}
}

// arrived notes a mail that reached its reader.
func (y *year) arrived(job mail.Job) {
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

// A year for fifty customers in zones that change their clocks in different ways, with everything that happens to them, a mail
// server that answers as servers do and is away for three weeks, and a daemon that is off for forty days. Nobody gets more
// than one reminder a day, none outside the window, none of what was done, ended or unsubscribed; and in the end everybody
// who can be reached was told the last step of everything that is due.
func TestAYearForFiftyCustomers(t *testing.T) {
	const seed = 2026
	y := &year{Scene: scene.Start(t, noon), t: t, rng: rand.New(rand.NewPCG(seed, seed)), got: map[string]map[string]string{}}
	y.settle(50)
	o := post(y.Scene, y)
	for day := range 365 {
		y.down = day >= 100 && day < 121
		if day >= 200 && day < 240 {
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
	mails := 0
	for _, days := range y.got {
		mails += len(days)
	}
	t.Logf("%d persons, %d houses, %d attempts: %d mails, %d copies under the same Message-ID", len(y.persons), len(y.houses), y.tries, mails, y.copies)
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
			h := &house{name: fmt.Sprintf("House %d", len(y.houses)), contacts: contacts}
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
	h.due = vent.InstantOf(y.Now).DateIn(time.UTC).AddDays(days)
	y.Want(h.Home, vent.KindFinding, scene.Clean(vent.ID{1, 14: byte(len(h.name)), 15: h.cycle}, h.due))
}

// happen is what happens on one day.
func (y *year) happen() {
	for _, h := range y.houses {
		switch n := y.rng.IntN(10000); {
		case h.ended:
		case n < 35: // cleaned, and due again some months later
			h.cycle++
			y.open(h, 60+y.rng.IntN(180))
		case n < 85 && h.due != 0: // the date moves
			y.open(h, h.due.DaysUntil(vent.InstantOf(y.Now).DateIn(time.UTC))*-1+y.rng.IntN(60)-30)
		case n < 90: // no longer needed
			h.due = 0
			y.Want(h.Home, vent.KindOperator)
		case n < 94:
			h.ended = true
			scene.Change(y.Scene, store.Customers, h.Customer, func(c *vent.Customer) { c.Ended = vent.NewDate(2020, 1, 1) })
		}
	}
	for i, r := range y.persons {
		switch n := y.rng.IntN(10000); {
		case n < 20:
			r.silent = !r.silent
			scene.Change(y.Scene, store.Persons, r.id, func(p *vent.Person) {
				p.Consents = append(p.Consents, vent.Consent{Purpose: "run_due", Given: !r.silent, At: vent.InstantOf(y.Now)})
			})
		case n < 40:
			r.email = fmt.Sprintf("p%d.%d@example.com", i, y.rng.IntN(1e6))
			scene.Change(y.Scene, store.Persons, r.id, func(p *vent.Person) { p.Email, p.Undeliverable = r.email, "" })
		}
	}
}

// nothingLost wants the present step of every open due to have been told to every contact who can be reached.
func (y *year) nothingLost() {
	told := 0
	y.View(func(tx *store.Tx) error {
		for d, err := range store.OpenDues(tx, 0, 0) {
			if err != nil {
				return err
			}
			c, err := store.Customers.Get(tx, d.CustomerID)
			if err != nil {
				return err
			}
			for _, r := range y.persons {
				p, err := store.Persons.Get(tx, r.id)
				if err != nil {
					return err
				}
				today := vent.InstantOf(y.Now).DateIn(r.zone)
				m := cadence.Matter{Due: d, Ladder: cadence.Default().ByVisit}
				step := m.On(today).Step
				if step != m.On(today-1).Step {
					continue // its morning is still to come
				}
				if c.Ended != 0 || r.silent || p.Undeliverable != "" || step == "" || !slices.Contains(c.Persons, r.id) {
					continue
				}
				told++
				n, err := store.NoticeByKey(tx, vent.NoticeKey{PersonID: r.id, Thing: vent.Subject{Kind: vent.KindDue, ID: d.ID}, Opener: d.Opener,
					Arm: d.Arm, Step: step, Channel: vent.ByMail})
				if err != nil || n.State != vent.NoticeSent && n.State != vent.NoticeUnsure {
					y.t.Errorf("%s, due %s: step %s was not told to %s: %s %s %v", c.Name, d.Day, step, p.Email, n.State, n.Why, err)
				}
			}
		}
		waiting, err := store.CountMessagesWaiting(tx)
		if waiting != 0 {
			y.t.Errorf("%d messages still wait", waiting)
		}
		return err
	})
	if told < 30 {
		y.t.Errorf("only %d steps stand at the end: the year proves little", told)
	}
	y.t.Logf("%d steps stand at the end, all told", told)
}
