package desk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
)

// AckLinks makes and reads the addresses at which somebody who was told of a stop says that they know. The code is over the
// fault, its spell and the person with their epoch: it is good for this stop and this person alone, until the dryer is released.
type AckLinks struct{ linkKey }

// AckLinks gives the addresses of acknowledgements.
func (d *Desk) AckLinks(by By) (AckLinks, error) {
	key, err := d.linkKey(by, "acknowledge")
	return AckLinks{key}, err
}

// ackToken is what a link says.
type ackToken struct {
	fault, person vent.ID
	spell         uint16 // how often the fault had come back
	epoch         uint32 // of the person's links
}

const ackSaid = 16 + 16 + 2 + 4 // bytes of said

func (t ackToken) said() []byte {
	b := append(append([]byte(nil), t.fault[:]...), t.person[:]...)
	return binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint16(b, t.spell), t.epoch)
}

// Path gives the path below the pages' base address at which a person acknowledges a stop.
func (l AckLinks) Path(f vent.Fault, p vent.Person) string {
	t := ackToken{fault: f.ID, person: p.ID, spell: uint16(len(f.Again)), epoch: uint32(p.LinkEpoch)}
	return "/a/" + l.seal(t.said())
}

func (l AckLinks) read(token string) (t ackToken, err error) {
	x, ok := l.open(token, ackSaid)
	if !ok || !x.holds() {
		return t, vent.ErrNotFound
	}
	copy(t.fault[:], x.said)
	copy(t.person[:], x.said[16:])
	t.spell, t.epoch = binary.BigEndian.Uint16(x.said[32:]), binary.BigEndian.Uint32(x.said[34:])
	return t, nil
}

// Acknowledgement is what the holder of a link sees of a stop.
type Acknowledgement struct {
	FaultView
	Dryer    vent.Appliance
	Person   vent.Person
	Operator vent.Operator
	Over     bool // the dryer was released, or the fault came back since and was told anew
	Known    bool // it was acknowledged already, or is no longer theirs to acknowledge
}

// Acknowledgement gives what the holder of a link sees. It changes nothing: programs follow links by themselves.
func (d *Desk) Acknowledgement(by By, l AckLinks, token string) (a Acknowledgement, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		a, _, err = l.find(tx, token, vent.InstantOf(by.Now))
		return err
	})
	return a, err
}

// Acknowledge notes on a stop's call list that the holder of a link knows, in every role in which they were told. Saying it
// again changes nothing.
func (d *Desk) Acknowledge(by By, l AckLinks, token string) (a Acknowledgement, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		var roles []vent.CallRole
		if a, roles, err = l.find(tx, token, tx.Now()); err != nil {
			return err
		}
		f := a.Fault
		for _, role := range faults.Unacknowledged(f, roles) {
			if f, err = faults.Tell(f, vent.Call{At: tx.Now(), Who: "the " + string(role), How: "the link in the mail", Role: role, Ackd: true}); err != nil {
				return err
			}
		}
		if len(f.Told) > len(a.Fault.Told) {
			if err := putFault(tx, f); err != nil {
				return err
			}
		}
		a, _, err = l.find(tx, token, tx.Now())
		return err
	})
	return a, err
}

// find gives the stop of a link, and the roles in which its holder is still to acknowledge it.
func (l AckLinks) find(tx *store.Tx, token string, now vent.Instant) (a Acknowledgement, roles []vent.CallRole, err error) {
	none := fmt.Errorf("acknowledge a stop: %w", vent.ErrNotFound)
	t, err := l.read(token)
	if err != nil {
		return a, nil, none
	}
	f, err := store.Faults.Get(tx, t.fault)
	if err == nil {
		a.Person, err = store.Persons.Get(tx, t.person)
	}
	if errors.Is(err, vent.ErrNotFound) || err == nil && uint32(a.Person.LinkEpoch) != t.epoch {
		return a, nil, none
	}
	if err != nil {
		return a, nil, err
	}
	if a.FaultView, err = viewOf(tx, f, now); err != nil {
		return a, nil, err
	}
	if id := a.Run.Current().DryerID; !id.IsZero() {
		if a.Dryer, err = store.Appliances.Get(tx, id); err != nil {
			return a, nil, err
		}
	}
	a.Operator = operator(tx)
	if a.Over = f.State != vent.FaultOpen || f.Severity != vent.Stop || uint16(len(f.Again)) != t.spell; a.Over {
		return a, nil, nil
	}
	stops, err := stopsFor(tx, a.Person, now.DateIn(zoneOf(a.Site.Zone)))
	if err != nil {
		return a, nil, err
	}
	if i := slices.IndexFunc(stops, func(s stopDue) bool { return s.fault.ID == f.ID }); i >= 0 {
		roles = stops[i].roles
	}
	a.Known = len(roles) == 0
	return a, roles, nil
}
