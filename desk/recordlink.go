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

const (
	recordMonths = 24 // for how many months a record link leads to its page: a record is asked for long after the visit
	recordSaid   = 16 + 16 + 4 + 4
)

// RecordPath is what the path of a record's page begins with.
const RecordPath = "/r/"

// RecordLinks makes and reads the addresses at which the contact of a customer looks at the record of one visit, without an
// account. The code is over the finding, the person, the address that was mailed, the person's epoch and the day of expiry. Looking is
// all that it allows.
type RecordLinks struct{ linkKey }

// RecordLinks gives the addresses of records.
func (d *Desk) RecordLinks(by By) (RecordLinks, error) {
	key, err := d.linkKey(by, "record")
	return RecordLinks{key}, err
}

// Path gives the path below the pages' base address at which a person looks at a finding, in a mail that is written on a day.
func (l RecordLinks) Path(p vent.Person, finding vent.ID, on vent.Date) string {
	y, m, _ := on.Split()
	t := recordToken{finding: finding, person: p.ID, epoch: p.LinkEpoch, until: vent.NewDate(y, m, 1).AddMonths(recordMonths)}
	return RecordPath + l.seal(t.said(), p.Email)
}

// recordToken is what a link says.
type recordToken struct {
	finding, person vent.ID
	epoch           int
	until           vent.Date
}

func (t recordToken) said() []byte {
	b := slices.Concat(t.finding[:], t.person[:])
	b = binary.BigEndian.AppendUint32(b, uint32(t.epoch))
	return binary.BigEndian.AppendUint32(b, uint32(t.until))
}

// RecordByLink gives the service record that a link leads to, and who holds the link; vent.ErrNotFound where the code does not
// fit or the person is no longer a contact of the customer, ErrLinkOver where the link is too old.
func (d *Desk) RecordByLink(by By, l RecordLinks, token string) (s ServiceRecord, p vent.Person, err error) {
	var finding vent.ID
	err = d.store.View(func(tx *store.Tx) error {
		finding, p, err = l.find(tx, token, vent.InstantOf(by.Now))
		return err
	})
	if err != nil {
		return s, vent.Person{}, err
	}
	s, err = d.FindingService(by, finding)
	return s, p, err
}

func (l RecordLinks) find(tx *store.Tx, token string, now vent.Instant) (finding vent.ID, p vent.Person, err error) {
	none := fmt.Errorf("record page: %w", vent.ErrNotFound)
	x, ok := l.open(token, recordSaid)
	if !ok {
		return finding, p, none
	}
	raw := x.said
	t := recordToken{finding: vent.ID(raw[:16]), person: vent.ID(raw[16:32]),
		epoch: int(binary.BigEndian.Uint32(raw[32:])), until: vent.Date(int32(binary.BigEndian.Uint32(raw[36:])))}
	p, err = store.Persons.Get(tx, t.person)
	if errors.Is(err, vent.ErrNotFound) || err == nil && (p.Email == "" || p.LinkEpoch != t.epoch || !x.holds(p.Email)) {
		return finding, p, none
	}
	if err != nil {
		return finding, p, err
	}
	if now.DateIn(time.UTC) >= t.until {
		return finding, p, ErrLinkOver
	}
	theirs, err := recordOfTheirs(tx, t.finding, p.ID)
	if err == nil && !theirs || errors.Is(err, vent.ErrNotFound) {
		err = none
	}
	return t.finding, p, err
}

// recordOfTheirs reports whether a person is a contact of the customer at whose run a finding was made.
func recordOfTheirs(tx *store.Tx, finding, person vent.ID) (bool, error) {
	f, err := store.Findings.Get(tx, finding)
	if err != nil {
		return false, err
	}
	run, err := store.Runs.Get(tx, f.RunID)
	if err != nil {
		return false, err
	}
	site, err := store.Sites.Get(tx, run.SiteID)
	if err != nil {
		return false, err
	}
	c, err := store.Customers.Get(tx, site.CustomerID)
	return slices.Contains(c.Persons, person), err
}
