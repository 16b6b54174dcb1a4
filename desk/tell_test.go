package desk_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// morning is ten o'clock in New York on 2 March 2026: inside the window for mail, when everybody's place in its first
// two hours has come.
var morning = time.Date(2026, 3, 2, 15, 0, 0, 0, time.UTC)

var today = vent.NewDate(2026, 3, 2)

// office plays the clock over a scene: it decides, claims, and settles each message as answer says.
type office struct {
	*scene.Scene
	t      testing.TB
	answer func(vent.Message) (desk.Result, bool) // false: the program is killed before it stores an answer
	sent   []sent                                 // every attempt
}

// sent is one attempt.
type sent struct {
	at      time.Time
	to, id  string
	body    string // what the letter told, "run_due clean 2026-03-09 7_days; ..."
	result  desk.Result
	message vent.ID
}

func newOffice(t testing.TB) *office {
	o := &office{Scene: scene.Start(t, morning), t: t,
		answer: func(vent.Message) (desk.Result, bool) { return desk.Accepted, true }}
	p := o.Desk.Policy()
	p.Cadence.ByVisit = p.Cadence.Due // one ladder: what these tests are about is the same on all
	o.Desk.SetPolicy(p)
	return o
}

// compose writes what a test can read back. The Message-ID stands for the content, as a real one does.
func compose(r desk.Reminder) (desk.Letter, error) {
	var lines []string
	for _, it := range r.Items {
		lines = append(lines, fmt.Sprintf("%s %s %s", it.Label(), it.Due.Day, it.Step))
	}
	body := strings.Join(lines, "; ")
	return desk.Letter{MailID: r.Message.ID.String() + " " + body, Raw: []byte(body)}, nil
}

// work does what the clock's jobs do at the moment and gives the attempts.
func (o *office) work() []sent {
	o.t.Helper()
	from := len(o.sent)
	for range 2 { // what ends untold may be wanted again at once
		if _, err := o.Desk.Tell(o.t.Context(), o.By()); err != nil {
			o.t.Fatal(err)
		}
		for {
			m, err := o.Desk.Claim(o.By(), vent.ByMail, compose)
			if err != nil {
				o.t.Fatal(err)
			}
			if m == nil {
				break
			}
			o.hand(*m)
		}
	}
	return o.sent[from:]
}

func (o *office) hand(m vent.Message) {
	o.t.Helper()
	res, known := o.answer(m)
	o.sent = append(o.sent, sent{o.Now, m.To, m.MailID, string(m.Raw), res, m.ID})
	if !known {
		return
	}
	if err := o.Desk.Settle(o.By(), m.ID, res, string(res)+" by the test"); err != nil {
		o.t.Fatal(err)
	}
}

// after moves the moment and works.
func (o *office) after(d time.Duration) []sent {
	o.t.Helper()
	o.Now = o.Now.Add(d)
	return o.work()
}

// days works at ten in the morning, n days long, and gives the attempts of all days between.
func (o *office) days(n int) (all []sent) {
	o.t.Helper()
	for range n {
		all = append(all, o.after(24*time.Hour)...)
	}
	return all
}

func (o *office) always(r desk.Result) {
	o.answer = func(vent.Message) (desk.Result, bool) { return r, true }
}

func (o *office) notice(due vent.Due, person vent.ID, step vent.Step) (n vent.Notice) {
	o.t.Helper()
	o.View(func(tx *store.Tx) (err error) {
		n, err = store.NoticeByKey(tx, vent.NoticeKey{PersonID: person, Thing: vent.Subject{Kind: vent.KindDue, ID: due.ID}, Opener: due.Opener,
			Arm: due.Arm, Step: step, Channel: vent.ByMail})
		return err
	})
	return n
}

// wantSent compares attempts by address and content.
func wantSent(t testing.TB, got []sent, want ...string) {
	t.Helper()
	var have []string
	for _, s := range got {
		have = append(have, s.to+": "+s.body)
	}
	if !slices.Equal(have, want) {
		t.Errorf("sent %q\nwant %q", have, want)
	}
}

func TestEachStepIsToldOnce(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	due := o.Due(h, today.AddDays(7))
	wantSent(t, o.work(), "ida@example.com: Lund house, house 2026-03-09 7_days")
	wantSent(t, o.work())
	if got := scene.Get(o.Scene, store.Dues, due.ID); got.ToldDay != due.Day || got.Sequence != due.Sequence {
		t.Errorf("the due after telling: %+v", got)
	}
	wantSent(t, o.days(40),
		"ida@example.com: Lund house, house 2026-03-09 on_the_day", "ida@example.com: Lund house, house 2026-03-09 14_days_late")
}

func TestDoneStopsTheReminder(t *testing.T) {
	o := newOffice(t)
	o.Now = morning.Add(-4 * time.Hour) // six in the morning: the message waits for the window
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	due := o.Due(h, today.AddDays(7))
	wantSent(t, o.work())
	o.Done(h)
	wantSent(t, o.after(4*time.Hour))
	if n := o.notice(due, ida, "7_days"); n.State != vent.NoticeDropped || n.Why != "it was done" {
		t.Errorf("the notice is %s: %q", n.State, n.Why)
	}
	wantSent(t, o.days(40))
}

// One person, two customers, four dues on one day, one mail; and another contact of the same customer gets their own.
func TestOneMailADayAndPerson(t *testing.T) {
	o := newOffice(t)
	ida, per := o.Person("Ida Lund", "ida@example.com"), o.Person("Per Berg", "per@example.com")
	a, b := o.House("Lund", "America/New_York", ida, per), o.House("Ash Mill", "Europe/Berlin", ida)
	o.Due(a, today.AddDays(7))
	o.Due(b, today)
	got := o.work()
	slices.SortFunc(got, func(a, b sent) int { return strings.Compare(a.to, b.to) })
	wantSent(t, got, "ida@example.com: Ash Mill house, house 2026-03-02 on_the_day; Lund house, house 2026-03-09 7_days",
		"per@example.com: Lund house, house 2026-03-09 7_days")

	// What comes up on a day that had its mail waits for the next.
	c := o.House("Cedar", "America/New_York", ida)
	o.Due(c, today.AddDays(1))
	wantSent(t, o.after(time.Hour))
	wantSent(t, o.after(23*time.Hour), "ida@example.com: Cedar house, house 2026-03-03 on_the_day")
}

// The day of a due moves while its message waits for the morning.
func TestDayMovesWhileTheMessageWaits(t *testing.T) {
	for _, c := range []struct {
		name string
		to   int // days from today
		want []string
	}{
		{"a little later", 8, []string{"ida@example.com: Lund house, house 2026-03-10 30_days"}},
		{"far away: told when its turn comes", 100, nil},
		{"nearer: another step", 0, []string{"ida@example.com: Lund house, house 2026-03-02 on_the_day"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := newOffice(t)
			o.Now = morning.Add(-4 * time.Hour)
			h := o.House("Lund", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
			o.Due(h, today.AddDays(8))
			wantSent(t, o.work())
			o.Due(h, today.AddDays(c.to))
			wantSent(t, o.after(4*time.Hour), c.want...)
			if c.to == 100 {
				wantSent(t, o.days(71), "ida@example.com: Lund house, house 2026-06-10 30_days")
			}
		})
	}
}

// A told day that moves later by over two weeks is told again from the beginning.
func TestToldAgainWhenTheDayMovesFar(t *testing.T) {
	o := newOffice(t)
	h := o.House("Lund", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(7))
	wantSent(t, o.work(), "ida@example.com: Lund house, house 2026-03-09 7_days")
	o.Due(h, today.AddDays(22)) // by fifteen
	wantSent(t, o.days(1), "ida@example.com: Lund house, house 2026-03-24 30_days")
	wantSent(t, o.days(15), "ida@example.com: Lund house, house 2026-03-24 7_days")
}

// It moves that far while the mail about the old day is on its way, and the person is looked at meanwhile: they are told
// again too.
func TestToldAgainWhenTheDayMovesOnTheWay(t *testing.T) {
	o := newOffice(t)
	h := o.House("Lund", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(10))
	o.answer = func(vent.Message) (desk.Result, bool) {
		o.Due(h, today.AddDays(10+15)) // the same step
		if _, err := o.Desk.Tell(t.Context(), o.By()); err != nil {
			t.Error(err)
		}
		return desk.Accepted, true
	}
	wantSent(t, o.work(), "ida@example.com: Lund house, house 2026-03-12 30_days")
	o.always(desk.Accepted)
	wantSent(t, o.days(1), "ida@example.com: Lund house, house 2026-03-27 30_days")
}

func TestWhoCannotBeReachedIsToldWhenTheyCan(t *testing.T) {
	no := vent.Consent{Purpose: "all", Given: false, At: 1}
	yes := vent.Consent{Purpose: "all", Given: true, At: 2}
	for _, c := range []struct {
		name         string
		before, then func(*vent.Person)
	}{
		{"no address", func(p *vent.Person) { p.Email = "" }, func(p *vent.Person) { p.Email = "ida@example.com" }},
		{"address refused", func(p *vent.Person) { p.Undeliverable = "550" }, func(p *vent.Person) { p.Undeliverable = "" }},
		{"unsubscribed", func(p *vent.Person) { p.Consents = []vent.Consent{no} }, func(p *vent.Person) { p.Consents = append(p.Consents, yes) }},
		{"another channel", func(p *vent.Person) { p.Channels = []vent.Channel{vent.ByWebhook} }, func(p *vent.Person) { p.Channels = nil }},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := newOffice(t)
			ida := o.Person("Ida Lund", "ida@example.com")
			h := o.House("Lund", "America/New_York", ida)
			scene.Change(o.Scene, store.Persons, ida, c.before)
			o.Due(h, today.AddDays(7))
			wantSent(t, o.work())
			wantSent(t, o.days(2))
			scene.Change(o.Scene, store.Persons, ida, c.then)
			wantSent(t, o.after(time.Minute), "ida@example.com: Lund house, house 2026-03-09 7_days")
			wantSent(t, o.days(1))
		})
	}
}

// They cannot be reached any more, or are not concerned any more, when the message is about to go.
func TestLookedAtAgainBeforeItGoes(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(o *office, ida vent.ID, h scene.Home)
		state  vent.NoticeState
	}{
		{"unsubscribed", func(o *office, ida vent.ID, h scene.Home) {
			scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Consents = []vent.Consent{{Purpose: "run_due", At: 1}} })
		}, vent.NoticeSuppressed},
		{"customer ended", func(o *office, ida vent.ID, h scene.Home) {
			scene.Change(o.Scene, store.Customers, h.Customer, func(c *vent.Customer) { c.Ended = today })
		}, vent.NoticeDropped},
		{"contact replaced", func(o *office, ida vent.ID, h scene.Home) {
			scene.Change(o.Scene, store.Customers, h.Customer, func(c *vent.Customer) { c.Persons = nil })
		}, vent.NoticeDropped},
		{"due withdrawn", func(o *office, ida vent.ID, h scene.Home) { o.Want(h, vent.KindOperator) }, vent.NoticeDropped},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := newOffice(t)
			o.Now = morning.Add(-4 * time.Hour)
			ida := o.Person("Ida Lund", "ida@example.com")
			h := o.House("Lund", "America/New_York", ida)
			due := o.Due(h, today.AddDays(7))
			wantSent(t, o.work())
			c.change(o, ida, h)
			wantSent(t, o.after(4*time.Hour))
			if n := o.notice(due, ida, "7_days"); n.State != c.state || n.Why == "" {
				t.Errorf("the notice is %s: %q", n.State, n.Why)
			}
			wantSent(t, o.days(3))
		})
	}
}

// Nothing is sent outside the window in the person's own zone, retries included.
func TestWindowHoldsForRetries(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Zone = "Pacific/Apia" }) // four in the morning there
	o.Due(h, today.AddDays(7))
	o.always(desk.Deferred)
	apia, err := time.LoadLocation("Pacific/Apia")
	if err != nil {
		t.Fatal(err)
	}
	for range 100 * 12 {
		o.after(5 * time.Minute)
	}
	if len(o.sent) < 10 {
		t.Errorf("%d attempts in four days", len(o.sent))
	}
	for _, s := range o.sent {
		if hour := s.at.In(apia).Hour(); hour < 8 || hour >= 18 {
			t.Errorf("an attempt at %s", s.at.In(apia))
		}
	}
}

// A waiting message is written anew for every attempt until one may have arrived: what was done meanwhile is taken out,
// what came up comes in, and there is still one mail a day.
func TestADeferredMessageIsWrittenAnew(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	a, b, c := o.House("Ash", "America/New_York", ida), o.House("Beech", "America/New_York", ida), o.House("Cedar", "America/New_York", ida)
	o.Due(a, today)
	o.Due(b, today.AddDays(7))
	o.always(desk.Deferred)
	wantSent(t, o.work(), "ida@example.com: Ash house, house 2026-03-02 on_the_day; Beech house, house 2026-03-09 7_days")
	if m := scene.Get(o.Scene, store.Messages, o.sent[0].message); m.Raw != nil || m.State != vent.MessageDeferred {
		t.Errorf("the deferred message is %s and keeps %d bytes", m.State, len(m.Raw))
	}
	o.Done(a)
	o.Due(c, today.AddDays(1))
	o.always(desk.Accepted)
	got := o.days(1)
	wantSent(t, got, "ida@example.com: Cedar house, house 2026-03-03 on_the_day; Beech house, house 2026-03-09 7_days")
	if o.sent[0].message != got[0].message || o.sent[0].id == got[0].id {
		t.Error("the same message is tried again, under another Message-ID since it says something else")
	}
}

// From the first attempt that may have arrived on, the same bytes go out under the same Message-ID; a second lost answer
// is the end, visibly, and it is not told again.
func TestAMessageThatMayHaveArrivedIsFrozen(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h, c := o.House("Lund", "America/New_York", ida), o.House("Cedar", "America/New_York", ida)
	due := o.Due(h, today.AddDays(7))
	o.always(desk.AnswerLost)
	first := o.work()
	o.Due(h, today.AddDays(6)) // still the same step
	o.Due(c, today)            // has to wait: today's message may have arrived
	wantSent(t, o.after(29*time.Minute))
	again := o.after(time.Minute)
	wantSent(t, again, first[0].to+": "+first[0].body)
	if again[0].id != first[0].id {
		t.Errorf("Message-ID %q, then %q", first[0].id, again[0].id)
	}
	if n := o.notice(due, ida, "7_days"); n.State != vent.NoticeUnsure || n.Why == "" {
		t.Errorf("the notice is %s: %q", n.State, n.Why)
	}
	o.always(desk.Accepted)
	wantSent(t, o.days(1), "ida@example.com: Cedar house, house 2026-03-02 on_the_day")
}

// A message whose answer was lost in the evening comes back the next morning, on which there is news as well: still one
// mail a day.
func TestALostAnswerAndNewsOnOneDay(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h, c := o.House("Lund", "America/New_York", ida), o.House("Cedar", "America/New_York", ida)
	o.Now = morning.Add(7*time.Hour + 45*time.Minute)
	o.Due(h, today.AddDays(7))
	o.Due(c, today.AddDays(31)) // told tomorrow
	o.always(desk.AnswerLost)
	first := o.work()
	o.always(desk.Accepted)
	var got []sent
	for range 42 * 4 { // until a quarter to twelve of the day after: everybody's place in the morning has come
		got = append(got, o.after(15*time.Minute)...)
	}
	wantSent(t, append(first, got...), "ida@example.com: Lund house, house 2026-03-09 7_days", "ida@example.com: Lund house, house 2026-03-09 7_days",
		"ida@example.com: Cedar house, house 2026-04-02 30_days")
	if len(got) == 2 && got[1].at.Sub(got[0].at) < 14*time.Hour {
		t.Errorf("two mails on one day: %s and %s", got[0].at, got[1].at)
	}
}

// A message that may have arrived at the old address is not tried there again; the new one gets it.
func TestAddressChangesAfterALostAnswer(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	o.Due(h, today.AddDays(7))
	o.always(desk.AnswerLost)
	o.work()
	scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Email = "ida.lund@example.com" })
	o.always(desk.Accepted)
	got := append(o.after(30*time.Minute), o.days(1)...) // today's mail may have arrived
	wantSent(t, got, "ida.lund@example.com: Lund house, house 2026-03-09 7_days")
}

// What is taken out of a waiting message and comes back is told once, whichever message carries it then.
func TestTakenOutAndBackAgain(t *testing.T) {
	for _, frozen := range []bool{false, true} {
		o := newOffice(t)
		ida := o.Person("Ida Lund", "ida@example.com")
		a, b := o.House("Ash", "America/New_York", ida), o.House("Beech", "America/New_York", ida)
		due := o.Due(a, today.AddDays(12))
		o.Due(b, today.AddDays(13))
		o.always(desk.Deferred)
		o.work()
		o.Due(a, today.AddDays(100))
		if frozen {
			o.always(desk.AnswerLost)
		}
		wantSent(t, o.after(40*time.Minute), "ida@example.com: Beech house, house 2026-03-15 30_days")
		o.Due(a, today.AddDays(12))
		o.always(desk.Accepted)
		if !frozen { // it joins the message that still waits
			wantSent(t, o.after(2*time.Hour), "ida@example.com: Ash house, house 2026-03-14 30_days; Beech house, house 2026-03-15 30_days")
		} else { // that one may have arrived: the next day has another
			wantSent(t, o.after(2*time.Hour), "ida@example.com: Beech house, house 2026-03-15 30_days")
			if n := o.notice(due, ida, "30_days"); n.State != vent.NoticeWanted {
				t.Errorf("the notice that waits for tomorrow is %s", n.State)
			}
			wantSent(t, o.days(1), "ida@example.com: Ash house, house 2026-03-14 30_days")
		}
		wantSent(t, o.days(2))
	}
}

// A claim that a kill left behind comes back after half an hour, as often as it takes.
func TestAnOrphanComesBack(t *testing.T) {
	o := newOffice(t)
	h := o.House("Lund", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(7))
	o.answer = func(vent.Message) (desk.Result, bool) { return "", false }
	const body = "ida@example.com: Lund house, house 2026-03-09 7_days"
	wantSent(t, o.work(), body)
	o.Due(h, today.AddDays(6)) // the letter stays as it was
	wantSent(t, o.after(29*time.Minute))
	wantSent(t, o.after(time.Minute), body)
	wantSent(t, o.after(30*time.Minute), body)
	o.always(desk.Accepted)
	wantSent(t, o.after(30*time.Minute), body)
	wantSent(t, o.days(2))
	for _, s := range o.sent {
		if s.id != o.sent[0].id {
			t.Errorf("Message-ID %q, then %q", o.sent[0].id, s.id)
		}
	}
}

// An orphan about something that was done since does not go out a second time.
func TestAnOrphanIsLookedAtToo(t *testing.T) {
	o := newOffice(t)
	h := o.House("Lund", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(7))
	o.answer = func(vent.Message) (desk.Result, bool) { return "", false }
	o.work()
	o.Done(h)
	wantSent(t, o.days(1))
}

func TestRefusedForGood(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	due := o.Due(h, today.AddDays(7))
	o.always(desk.Refused)
	o.work()
	if p := scene.Get(o.Scene, store.Persons, ida); !strings.Contains(p.Undeliverable, "refused by the test") {
		t.Errorf("the person: %+v", p)
	}
	if n := o.notice(due, ida, "7_days"); n.State != vent.NoticeFailed {
		t.Errorf("the notice is %s", n.State)
	}
	o.always(desk.Accepted)
	wantSent(t, o.days(3))
	scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Email, p.Undeliverable = "ida.lund@example.com", "" })
	wantSent(t, o.after(time.Minute), "ida.lund@example.com: Lund house, house 2026-03-09 7_days")
}

// The address is changed while a message is refused at the old one.
func TestRefusedAtAnOldAddress(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	o.Due(h, today.AddDays(7))
	o.answer = func(m vent.Message) (desk.Result, bool) {
		if m.To == "ida.lund@example.com" {
			return desk.Accepted, true
		}
		scene.Change(o.Scene, store.Persons, ida, func(p *vent.Person) { p.Email = "ida.lund@example.com" })
		if _, err := o.Desk.Tell(t.Context(), o.By()); err != nil { // they are looked at while the old mail is on its way
			t.Error(err)
		}
		return desk.Refused, true
	}
	o.work()
	wantSent(t, o.sent, "ida@example.com: Lund house, house 2026-03-09 7_days", "ida.lund@example.com: Lund house, house 2026-03-09 7_days")
}

// A message that the server will not take, whoever it is for, condemns no address and is not tried again before the
// next step.
func TestRejectedMessage(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	h := o.House("Lund", "America/New_York", ida)
	o.Due(h, today.AddDays(7))
	o.always(desk.Rejected)
	o.work()
	wantSent(t, o.days(6))
	if p := scene.Get(o.Scene, store.Persons, ida); p.Undeliverable != "" {
		t.Errorf("the person: %+v", p)
	}
	o.always(desk.Accepted)
	wantSent(t, o.days(1), "ida@example.com: Lund house, house 2026-03-09 on_the_day")
}

// An address that takes nothing for five days is believed dead. A server of ours that is away for three weeks says nothing
// of anybody: when it is back, everyone gets what is true then, once.
func TestFiveDaysWithoutSuccess(t *testing.T) {
	for res, want := range map[desk.Result]string{desk.Deferred: "", desk.Unavailable: "ida@example.com: Lund house, house 2026-03-20 7_days"} {
		t.Run(string(res), func(t *testing.T) {
			o := newOffice(t)
			ida := o.Person("Ida Lund", "ida@example.com")
			h := o.House("Lund", "America/New_York", ida)
			o.Due(h, today.AddDays(18))
			o.always(res)
			for range 16 * 24 {
				o.after(time.Hour)
			}
			if p := scene.Get(o.Scene, store.Persons, ida); (p.Undeliverable == "") != (res == desk.Unavailable) {
				t.Errorf("the person: %+v", p)
			}
			o.always(desk.Accepted)
			var got []sent
			for range 24 {
				got = append(got, o.after(time.Hour)...)
			}
			if want == "" {
				wantSent(t, got)
			} else {
				wantSent(t, got, want)
			}
		})
	}
}

// The daemon was off for forty days: one reminder per thing that is still due, nothing for what passed or was done.
func TestOffForFortyDays(t *testing.T) {
	o := newOffice(t)
	ida := o.Person("Ida Lund", "ida@example.com")
	var homes []scene.Home
	days := []int{10, 30, 50, 80}
	for i, name := range []string{"Ash", "Beech", "Cedar", "Elm"} {
		h := o.House(name, "America/New_York", ida)
		o.Due(h, today.AddDays(days[i]))
		homes = append(homes, h)
	}
	o.work()                          // Ash and Beech are told
	o.Now = morning.AddDate(0, 0, 40) // the day is 11 April
	o.Done(homes[1])
	o.sent = nil
	wantSent(t, o.work(), "ida@example.com: Ash house, house 2026-03-12 14_days_late; Cedar house, house 2026-04-21 30_days")
	wantSent(t, o.after(time.Hour))
}

// A message that had been decided before the forty days is not sent as it was.
func TestWaitingForFortyDays(t *testing.T) {
	o := newOffice(t)
	o.Now = morning.Add(-4 * time.Hour)
	h := o.House("Ash", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(10))
	wantSent(t, o.work())
	wantSent(t, o.after(40*24*time.Hour+4*time.Hour), "ida@example.com: Ash house, house 2026-03-12 14_days_late")
	wantSent(t, o.days(30))
}

// One broken record keeps nobody else from being told: its person, or its message, is set aside for an hour.
func TestABrokenRecordIsSetAside(t *testing.T) {
	o := newOffice(t)
	ida, per := o.Person("Ida Lund", "ida@example.com"), o.Person("Per Berg", "per@example.com")
	broken, sound := o.House("Ash", "America/New_York", ida), o.House("Beech", "America/New_York", per)
	due := o.Due(broken, today.AddDays(7))
	o.Due(sound, today.AddDays(7))
	scene.Change(o.Scene, store.Dues, due.ID, func(d *vent.Due) { d.Subject.ID = sound.Site }) // no such run
	if _, err := o.Desk.Tell(t.Context(), o.By()); err != nil {
		t.Fatal(err)
	}
	var faults error
	for {
		m, err := o.Desk.Claim(o.By(), vent.ByMail, compose)
		faults = errors.Join(faults, err)
		if m == nil {
			break
		}
		o.hand(*m)
	}
	wantSent(t, o.sent, "per@example.com: Beech house, house 2026-03-09 7_days")
	if faults == nil || !errors.Is(faults, vent.ErrNotFound) {
		t.Errorf("the fault: %v", faults)
	}
	scene.Change(o.Scene, store.Dues, due.ID, func(d *vent.Due) { d.Subject.ID = broken.Run })
	wantSent(t, o.after(59*time.Minute))
	wantSent(t, o.after(time.Minute), "ida@example.com: Ash house, house 2026-03-09 7_days")
}

// A letter that cannot be written is set aside as well, and goes when it can be.
func TestALetterThatCannotBeWritten(t *testing.T) {
	o := newOffice(t)
	h := o.House("Ash", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(7))
	if _, err := o.Desk.Tell(t.Context(), o.By()); err != nil {
		t.Fatal(err)
	}
	wrong := errors.New("no sender is set")
	m, err := o.Desk.Claim(o.By(), vent.ByMail, func(desk.Reminder) (desk.Letter, error) { return desk.Letter{}, wrong })
	if m != nil || !errors.Is(err, wrong) {
		t.Errorf("claimed %v, %v", m, err)
	}
	wantSent(t, o.after(time.Hour), "ida@example.com: Ash house, house 2026-03-09 7_days")
}

func TestSettleWantsAClaim(t *testing.T) {
	o := newOffice(t)
	h := o.House("Ash", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(7))
	got := o.work()
	if err := o.Desk.Settle(o.By(), got[0].message, desk.Deferred, "late"); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("settled twice: %v", err)
	}
	if err := o.Desk.Settle(o.By(), vent.ID{1}, desk.Accepted, ""); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("settled what is not there: %v", err)
	}
}

// When the clock has to come again is known without asking every minute.
func TestNextLook(t *testing.T) {
	o := newOffice(t)
	h := o.House("Ash", "America/New_York", o.Person("Ida Lund", "ida@example.com"))
	o.Due(h, today.AddDays(40))
	next, err := o.Desk.Tell(t.Context(), o.By())
	// Thirty days before 11 April, at eight in New York, summer time.
	if want := time.Date(2026, 3, 12, 12, 0, 0, 0, time.UTC); err != nil || !next.Equal(want) {
		t.Errorf("next look %s, %v, want %s", next, err, want)
	}
	if at, err := o.Desk.NextDelivery(vent.ByMail); err != nil || !at.IsZero() {
		t.Errorf("next delivery %s, %v", at, err)
	}
	o.Now = next
	o.work()
	at, err := o.Desk.NextDelivery(vent.ByMail)
	if off := at.Sub(next); err != nil || off < 0 || off > 2*time.Hour {
		t.Errorf("next delivery %s, %v", at, err)
	}
	p := o.Desk.Policy()
	p.Cadence = cadence.Policy{Opens: 480, Shuts: 1080} // nobody is reminded at all
	o.Desk.SetPolicy(p)
	if next, err := o.Desk.Tell(t.Context(), o.By()); err != nil || !next.IsZero() && next.Before(o.Now) {
		t.Errorf("next look %s, %v", next, err)
	}
}
