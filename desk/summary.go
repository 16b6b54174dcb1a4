package desk

import (
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

const (
	// summaryLines is how many lines of each list a summary holds; the rest is a number.
	summaryLines = 25
	// unbookedDays is how near a due must be that somebody has to come for and for which no visit is agreed.
	unbookedDays = 21
	// unwrittenDays is how far back a summary looks for visits of which nothing was written down.
	unwrittenDays = 60
	// longestSince is how far back a summary looks for mails that failed when none was sent for long.
	longestSince = 10 * 24 * time.Hour
)

// Summary is what needs somebody at the office on a day.
type Summary struct {
	Today vent.Date
	Since vent.Instant // mails that failed or were held back after it are told
	// Stops are dryers that nobody may use. Spent were told to the last step and nothing came of it: call them. Unbooked need a
	// visit soon and have none.
	Stops, Spent, Unbooked Lines[DueView]
	Unwritten              Lines[VisitView]       // visits that are over and of which nothing is written down
	Untold                 Lines[Untold]          // customers whom no mail reaches
	Undelivered            Lines[UndeliveredMail] // mails that were given up
	Held                   int                    // mails that a day's limit held back
}

// Lines is the beginning of a list, with how long it is.
type Lines[T any] struct {
	First []T
	N     int
}

func (l *Lines[T]) add(v T) {
	if l.N++; len(l.First) < summaryLines {
		l.First = append(l.First, v)
	}
}

// UndeliveredMail is a mail that was given up.
type UndeliveredMail struct {
	Message vent.Message
	Name    string // of the person
}

// Empty reports whether nothing needs anybody.
func (s Summary) Empty() bool {
	return s.Stops.N+s.Spent.N+s.Unbooked.N+s.Unwritten.N+s.Untold.N+s.Undelivered.N+s.Held == 0
}

// summary looks whether the operator is to be told today what needs somebody: every day on which something does, and on
// Mondays in any case, so that silence is not taken for health. It only reads.
func (l *listener) summary() (e errand, err error) {
	if !l.policy.Summary || l.operator.Kind == vent.Household || !isOperator(l.tx, l.person) || l.channel != vent.ByMail || l.reachable(classSummary) != "" {
		return errand{}, nil
	}
	if at := vent.InstantOf(l.today.At(l.policy.Opens, l.zone)); at > l.tx.Now() {
		return errand{next: at}, nil
	}
	e.next = vent.InstantOf(l.today.AddDays(1).At(l.policy.Opens, l.zone))
	k := l.summaryKey()
	before := notices{}
	if n, found := before.find(l.tx, k, &err); err != nil || found && (n.State.Stands() || n.State == vent.NoticeFailed) {
		return e, err
	}
	s, err := l.summaryOf()
	if err != nil || s.Empty() && l.today.Weekday() != time.Monday {
		return e, err
	}
	return e, l.fill(&e, classSummary, []vent.Notice{{Key: k, Kind: vent.NoticeSummary, Day: l.today}}, before)
}

func (l *listener) summaryKey() vent.NoticeKey {
	return vent.NoticeKey{PersonID: l.person.ID, Thing: vent.Subject{Kind: vent.KindPerson, ID: l.person.ID},
		Step: vent.Step("summary_" + l.today.String()), Channel: vent.ByMail}
}

// summaryStillTrue writes the summary anew as long as its day lasts.
func (l *listener) summaryStillTrue(n vent.Notice) (item ReminderItem, why string, err error) {
	if n.Key != l.summaryKey() {
		return item, "its day is over", nil
	}
	s, err := l.summaryOf()
	if s.Empty() && l.today.Weekday() != time.Monday {
		return item, "nothing needs anybody any more", err
	}
	item.Summary = &s
	item.Due.Day = l.today
	return item, "", err
}

// summaryOf gathers what needs somebody now.
func (l *listener) summaryOf() (s Summary, err error) {
	s.Today, s.Since = l.today, l.tx.Now().Add(-24*time.Hour)
	told, err := l.toldOf(vent.Subject{Kind: vent.KindPerson, ID: l.person.ID})
	if err != nil {
		return s, err
	}
	for _, n := range told {
		if n.Settled != 0 {
			s.Since = max(n.Settled, l.tx.Now().Add(-longestSince))
		}
	}
	g := newGuide(l.tx)
	for due, err := range store.OpenDues(l.tx, 0, l.today.AddDays(unbookedDays)) {
		if err == nil {
			err = l.sumDue(&s, g, due)
		}
		if err != nil {
			return s, err
		}
	}
	if err := l.sumVisits(&s, g); err != nil {
		return s, err
	}
	list, n, err := untold(l.tx, l.today, summaryLines)
	if err != nil {
		return s, err
	}
	s.Untold = Lines[Untold]{list, n}
	return s, l.sumMails(&s)
}

func (l *listener) sumDue(s *Summary, g *guide, due vent.Due) error {
	c, err := remembered(l.tx, g.customers, store.Customers, due.CustomerID)
	if err != nil || ended(c, l.today) {
		return err
	}
	booked, err := bookedOn(l.tx, due.ID)
	if err != nil {
		return err
	}
	var into *Lines[DueView]
	m := cadence.Matter{Due: due, Ladder: l.policy.For(l.operator.Kind, c, vent.Person{}, due), Booked: booked}
	stand := m.On(l.today)
	switch {
	case isStopDue(due):
		into = &s.Stops
	case stand.Spent:
		into = &s.Spent
	case stand.Why == "" && l.operator.Kind == vent.Customers && cadence.NeedsVisit(due):
		into = &s.Unbooked
	default:
		return nil
	}
	v := DueView{Due: due}
	if len(into.First) < summaryLines {
		if v, err = g.due(due); err != nil {
			return err
		}
		v.Site.Access = vent.Access{}
	}
	into.add(v)
	return nil
}

// sumVisits finds the visits that are over and still stand as booked.
func (l *listener) sumVisits(s *Summary, g *guide) error {
	for v, err := range store.VisitsBetween(l.tx, l.today.AddDays(-unwrittenDays), l.today) {
		if err != nil {
			return err
		}
		if v.State != vent.Booked || v.SiteID.IsZero() {
			continue
		}
		site, err := remembered(l.tx, g.sites, store.Sites, v.SiteID)
		if err != nil {
			return err
		}
		site.Access = vent.Access{}
		s.Unwritten.add(VisitView{Visit: v, Site: site})
	}
	return nil
}

// sumMails finds the mails that were given up or held back since the last summary.
func (l *listener) sumMails(s *Summary) error {
	first := vent.IDFrom(l.tx.Now().Add(-2 * longestSince).Time()) // one is tried for five days at most
	for m, err := range store.Messages.After(l.tx, first) {
		if err != nil {
			return err
		}
		if m.Held != 0 && m.Held >= s.Since.DateIn(l.zone) {
			s.Held++
		}
		if m.Settled < s.Since || m.State != vent.MessageFailed && m.State != vent.MessageExpired {
			continue
		}
		p, err := store.Persons.Get(l.tx, m.PersonID)
		if err != nil {
			return err
		}
		s.Undelivered.add(UndeliveredMail{m, p.Name})
	}
	return nil
}

// WakeOperator has the clock look at the operator today, who is told every morning what needs somebody.
func (d *Desk) WakeOperator(by By) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		if operator(tx).Kind == vent.Household {
			return nil
		}
		id, err := operatorPerson(tx)
		if err != nil || id.IsZero() {
			return err
		}
		return tx.WakeBy(store.WakeTell, id, tx.Now())
	})
}
