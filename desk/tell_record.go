package desk

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

const (
	// stepRecord is the one step at which what was done is told.
	stepRecord vent.Step = "recorded"
	// recordWait is how long the record of a visit waits: the doors of one visit go into one mail, and what is corrected at
	// once is told once.
	recordWait = 2 * time.Hour
	// recordDays is how old a visit may be whose record is still sent.
	recordDays = 14
	// recordLapse is for how many days the record of a visit is sent late, where mail could not go out: then it is of no use
	// any more, and the customer reads it on the service record.
	recordLapse = 60
)

// RecordItem is what a mail says of a visit that was written down.
type RecordItem struct {
	Finding vent.Finding
	Place
	Dues   []vent.Due   // of the run, open now
	Faults []vent.Fault // of the run and what is connected to it, still to be put right
}

// tellRecord has the customer's contacts told what was found and done: by a service business, of its own visits.
func (d *Desk) tellRecord(tx *store.Tx, run vent.Run, f vent.Finding) error {
	policy := d.Policy().Cadence
	if !policy.Record || operator(tx).Kind != vent.Customers || f.By.Kind != vent.ByUs || f.Date.DaysUntil(tx.Now().DateIn(time.UTC)) > recordDays {
		return nil
	}
	site, err := store.Sites.Get(tx, run.SiteID)
	if err != nil {
		return err
	}
	customer, err := store.Customers.Get(tx, site.CustomerID)
	if err != nil {
		return err
	}
	for _, id := range customer.Persons {
		l, err := d.listener(tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err == nil {
			err = l.tellRecord(customer, run, f)
		}
		if err != nil {
			return fmt.Errorf("tell person %s what was done: %w", id, err)
		}
	}
	return nil
}

func (l *listener) tellRecord(c vent.Customer, run vent.Run, f vent.Finding) (err error) {
	if l.reachable(classRecord) != "" || ended(c, l.today) {
		return nil
	}
	var e errand
	if e.message, err = l.messageFrom(classRecord, l.tx.Now().Add(recordWait)); err != nil {
		return err
	}
	k := vent.NoticeKey{PersonID: l.person.ID, Thing: vent.Subject{Kind: vent.KindFinding, ID: f.ID}, Opener: run.ID, Step: stepRecord, Channel: l.channel}
	e.add(l.tx, vent.Notice{Key: k, Kind: vent.NoticeRecord, Day: f.Date}, nil)
	return e.write(l.tx)
}

// recordStillTrue looks at the notice of a visit's record once more.
func (l *listener) recordStillTrue(g *guide, n vent.Notice) (item ReminderItem, why string, err error) {
	f, err := store.Findings.Get(l.tx, n.Key.Thing.ID)
	switch {
	case errors.Is(err, vent.ErrNotFound):
		return item, "what it was about is gone", nil
	case err != nil:
		return item, "", err
	case !f.Counts():
		return item, "it was corrected", nil
	case f.Date.DaysUntil(l.tx.Now().DateIn(time.UTC)) > recordLapse:
		return item, fmt.Sprintf("the visit was more than %d days ago", recordLapse), nil
	}
	s, err := recordOf(g, f)
	if err != nil {
		return item, "", err
	}
	if !l.contactOf(s.Customer.ID) {
		return item, "is no longer a contact of " + s.Customer.Name, nil
	}
	item.Record, item.Dryer = &s.RecordItem, s.dryer
	return item, "", nil
}

type recordAndDryer struct {
	RecordItem
	dryer vent.Appliance
}

// recordOf gathers what a mail says of a finding.
func recordOf(g *guide, f vent.Finding) (r recordAndDryer, err error) {
	run, err := store.Runs.Get(g.tx, f.RunID)
	if err != nil {
		return r, err
	}
	s, err := g.standing(run)
	s.Site.Access = vent.Access{}
	s.Faults = slices.DeleteFunc(s.Faults, func(x vent.Fault) bool { return x.State != vent.FaultOpen })
	return recordAndDryer{RecordItem{Finding: f, Place: s.Place, Dues: s.Dues, Faults: s.Faults}, s.Dryer}, err
}
