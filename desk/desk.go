// Package desk is the office: one function for each thing that a person or the clock does. It opens a transaction,
// loads what the rule needs, asks the rule, and writes what follows, with the name of who did it. It holds no
// rule, speaks no HTTP and knows nothing of how the store keeps things.
package desk

import (
	"fmt"
	"sync/atomic"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/scheduler/due"
	"ventdue/store"
	"ventdue/vent"
)

// Policy is what an operator chose about dates and reminders.
type Policy struct {
	Dates   due.Policy
	Cadence cadence.Policy
	// FeedMonths is how many months ahead calendars reach, 1 to 24.
	FeedMonths int
	Visits     VisitPolicy
	// Webhook is whether messages can be posted to a webhook.
	Webhook bool
}

// DefaultPolicy is the policy of an installation that set nothing.
func DefaultPolicy() Policy {
	return Policy{Dates: due.Default(), Cadence: cadence.Default(), FeedMonths: 24, Visits: DefaultVisitPolicy()}
}

// Desk is the office over one store. It is safe for use by many goroutines.
type Desk struct {
	store  *store.Store
	policy atomic.Pointer[Policy]
	kick   func(job string)
	photos photoBook
	finder finder
}

// By says who does something and when: taken once, at the edge, and handed down.
type By = store.Stamp

// New makes the office. kick is told the name of a daemon's job that has something new to do; it may be nil.
func New(s *store.Store, p Policy, kick func(job string)) *Desk {
	d := &Desk{store: s, kick: kick}
	if kick == nil {
		d.kick = func(string) {}
	}
	d.SetPolicy(p)
	return d
}

// SetPolicy changes the policy from the next question on. Stored dates change when they are planned anew.
func (d *Desk) SetPolicy(p Policy) { d.policy.Store(&p) }

// Policy gives the present policy.
func (d *Desk) Policy() Policy { return *d.policy.Load() }

// Store gives the store, for what needs no office: backup, verification, metrics.
func (d *Desk) Store() *store.Store { return d.store }

// settingsScope counts the changes of the operator's own record, which every feed shows.
var settingsScope = vent.Scope{Kind: "settings"}

// zoneOf loads an IANA zone; an unknown one, which cannot be stored, is UTC.
func zoneOf(name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil || name == "" {
		return time.UTC
	}
	return z
}

// operator gives the operator's record, or a plain one before the first set-up.
func operator(tx *store.Tx) vent.Operator {
	o, err := store.Operator(tx)
	if err != nil {
		return vent.Operator{Kind: vent.Customers, Name: "Ventdue", Zone: "UTC", Units: vent.US, Language: "en"}
	}
	return o
}

// Operator gives the operator's record, or a plain one before the first set-up.
func (d *Desk) Operator() (o vent.Operator, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		o = operator(tx)
		return nil
	})
	return o, err
}

// SetOperator names the operator.
func (d *Desk) SetOperator(by By, o vent.Operator) error {
	if err := o.Valid().Err(); err != nil {
		return fmt.Errorf("set the operator: %w", err)
	}
	err := d.store.Update(by, func(tx *store.Tx) error {
		if was := operator(tx); was.Kind != o.Kind { // who is asked for which checks
			if err := replanSites(tx, "another kind of operator"); err != nil {
				return err
			}
		}
		if err := store.Operators.Put(tx, o, "operator set"); err != nil {
			return err
		}
		return tx.Bump(settingsScope)
	})
	d.kick(JobReplan)
	return err
}
