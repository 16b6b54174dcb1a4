package desk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// choiceMonths is for how many months a link leads to the page: mails are kept, and answered late.
const choiceMonths = 13

// ChoiceLinks makes and reads the addresses at which a person chooses what they are reminded of, without an account. The code
// is over the purpose, the person, the address that was mailed, the person's epoch and the day of expiry: whoever holds
// another person's link or another address finds nothing. An address is the same for a month, so that a mail that is written
// anew carries it again.
type ChoiceLinks struct{ linkKey }

// ChoiceLinks gives the addresses of preference pages.
func (d *Desk) ChoiceLinks(by By) (ChoiceLinks, error) {
	key, err := d.linkKey(by, "mail choices")
	return ChoiceLinks{key}, err
}

// Path gives the path of a person's preference page below the pages' base address, in a mail that is written on a day.
func (l ChoiceLinks) Path(p vent.Person, on vent.Date) string {
	y, m, _ := on.Split()
	t := choiceToken{person: p.ID, epoch: p.LinkEpoch, until: vent.NewDate(y, m, 1).AddMonths(choiceMonths)}
	return "/m/" + l.seal(t.said(), p.Email)
}

// choiceToken is what a link says.
type choiceToken struct {
	person vent.ID
	epoch  int
	until  vent.Date
}

const choiceSaid = 16 + 4 + 4 // bytes of said

func (t choiceToken) said() []byte {
	b := append([]byte(nil), t.person[:]...)
	b = binary.BigEndian.AppendUint32(b, uint32(t.epoch))
	return binary.BigEndian.AppendUint32(b, uint32(t.until))
}

// find gives the person whose link it is; vent.ErrNotFound where the code does not fit. One that is too old is good only for
// saying no to everything: that must never fail for being late.
func (l ChoiceLinks) find(tx *store.Tx, token string, now vent.Instant) (p vent.Person, old bool, err error) {
	none := fmt.Errorf("preference page: %w", vent.ErrNotFound)
	x, ok := l.open(token, choiceSaid)
	if !ok {
		return p, false, none
	}
	var t choiceToken
	copy(t.person[:], x.said)
	t.epoch, t.until = int(binary.BigEndian.Uint32(x.said[16:])), vent.Date(int32(binary.BigEndian.Uint32(x.said[20:])))
	if p, err = store.Persons.Get(tx, t.person); err != nil {
		if errors.Is(err, vent.ErrNotFound) {
			err = none
		}
		return vent.Person{}, false, err
	}
	if p.Email == "" || p.LinkEpoch != t.epoch || !x.holds(p.Email) {
		return vent.Person{}, false, none
	}
	return p, now.DateIn(time.UTC) >= t.until, nil
}

// OneClick reports whether a message is one that a person is rid of by one click: a reminder, or the record of a visit. A stop is
// none, nor is the word of a visit that was agreed, nor the operator's own summary.
func (r Reminder) OneClick() bool {
	switch r.Message.Class {
	case classStop, classVisit, classSummary:
		return false
	}
	return true
}

// Choices is what a person can choose, as it stands.
type Choices struct {
	Person   vent.Person
	Operator vent.Operator
	Old      bool      // the link is too old to choose by; saying no to everything still works
	Today    vent.Date // at the person's place
	First    []int     // days ahead that can be asked for
}

// firstDays are the days ahead at which a first reminder can be asked for.
func firstDays() []int { return []int{60, 45, 30, 21, 14, 7} }

// Choices gives what the holder of a link can choose. It changes nothing.
func (d *Desk) Choices(by By, l ChoiceLinks, token string) (c Choices, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if c.Person, c.Old, err = l.find(tx, token, vent.InstantOf(by.Now)); err != nil {
			return err
		}
		customers, err := store.Collect(store.CustomersOf(tx, c.Person.ID))
		if err != nil {
			return err
		}
		zone, err := personZone(tx, c.Person, customers)
		c.Operator, c.Today, c.First = operator(tx), vent.InstantOf(by.Now).DateIn(zone), firstDays()
		return err
	})
	return c, err
}

// How a person said what they want.
const (
	SaidOneClick  = "one-click"
	SaidOnPage    = "preference page"
	SaidComplaint = "complaint"
)

// Unsubscribe says no to every reminder, for the holder of a link. Saying it again changes nothing. Nobody can be without
// a stop.
func (d *Desk) Unsubscribe(by By, l ChoiceLinks, token, how string) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		p, _, err := l.find(tx, token, tx.Now())
		if err != nil {
			return err
		}
		return sayNo(tx, p, how)
	})
}

func sayNo(tx *store.Tx, p vent.Person, how string) error {
	p.Say(vent.Consent{Purpose: vent.PurposeAll, At: tx.Now(), How: how})
	return store.Persons.Put(tx, p, "wants no reminders: "+how)
}

// Choice is what a person chose on their page.
type Choice struct {
	Wants       []string  // purposes, of vent.Purposes
	FirstDays   int       // 0: as the operator does
	PausedUntil vent.Date // zero: no pause
	Language    string    // one that there are words in; "": the operator's
}

// longestPause is the longest time without reminders that is no "no", in days. Ours.
const longestPause = 366

// Choose keeps what the holder of a link chose. A link that is too old is vent.ErrConflict.
func (d *Desk) Choose(by By, l ChoiceLinks, token string, c Choice) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		p, old, err := l.find(tx, token, tx.Now())
		switch {
		case err != nil:
			return err
		case old:
			return fmt.Errorf("this link is too old: use the one in a newer mail, or answer the mail: %w", vent.ErrConflict)
		}
		if err := c.check(tx.Now().DateIn(time.UTC)); err != nil {
			return err
		}
		c.put(&p, tx.Now(), SaidOnPage)
		if err := p.Valid().Err(); err != nil {
			return err
		}
		return store.Persons.Put(tx, p, "chose what to be reminded of: "+SaidOnPage)
	})
}

func (c Choice) check(today vent.Date) error {
	var p vent.Problems
	for _, x := range c.Wants {
		if !slices.Contains(vent.Purposes(), x) {
			p.Add("wants", x, "is not known")
		}
	}
	if c.FirstDays != 0 && !slices.Contains(firstDays(), c.FirstDays) {
		p.Add("first_days", fmt.Sprint(c.FirstDays), "is not offered")
	}
	if c.PausedUntil != 0 && (c.PausedUntil <= today.AddDays(-1) || c.PausedUntil > today.AddDays(longestPause)) {
		p.Add("paused_until", c.PausedUntil.String(), "must be within a year from today")
	}
	return p.Err()
}

// VoidLinks makes every link in a person's mails so far void, where one has gone astray.
func (d *Desk) VoidLinks(by By, person vent.ID) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		p, err := store.Persons.Get(tx, person)
		if err != nil {
			return err
		}
		p.LinkEpoch++
		return store.Persons.Put(tx, p, "links in mails made void")
	})
}
