package store

import (
	"fmt"
	"slices"

	"ventdue/vent"
)

// A working day is one row for each technician and day: the blocks of time that are taken. It is what two bookings that
// want the same time meet in, since both read and write the same row. It follows from the visits alone; who looks for what
// stands on a day reads the visits.

const workdayBucket = "workday"

// BlockKind is what a block of a technician's day is taken by.
type BlockKind string

// The kinds of blocks.
const (
	BlockWork  BlockKind = "work"  // a booked visit
	BlockHold  BlockKind = "hold"  // a held one, until its Until
	BlockOwn   BlockKind = "own"   // the technician's own time, without a site
	BlockDrive BlockKind = "drive" // on the road to the visit behind it
)

// Block is a part of a technician's day that is taken.
type Block struct {
	Kind    BlockKind    `json:"kind" cbor:"1,keyasint"`
	VisitID vent.ID      `json:"visit_id" cbor:"2,keyasint"`
	From    vent.Instant `json:"from" cbor:"3,keyasint"`
	To      vent.Instant `json:"to" cbor:"4,keyasint"`
	Until   vent.Instant `json:"until,omitzero" cbor:"5,keyasint,omitempty,omitzero"` // a hold's end
}

// stands reports whether the block is taken at the moment: a hold that ran out is not.
func (b Block) stands(now vent.Instant) bool { return b.Until.IsZero() || now < b.Until }

// Workday gives the blocks of a technician's day, the earliest first. Holds that ran out are among them.
func Workday(tx *Tx, technician vent.ID, on vent.Date) ([]Block, error) {
	b := tx.get(workdayBucket, key{}.id(technician).date(on))
	if b == nil {
		return nil, nil
	}
	var blocks []Block
	if err := tx.codec.unmarshal(b, &blocks); err != nil {
		return nil, fmt.Errorf("working day %s of %s: %w", on, technician, err)
	}
	return blocks, nil
}

// visitChanged keeps the rows of the days of a visit, whoever wrote it.
func visitChanged(tx *Tx, was, is *vent.Visit) error {
	if was.TechnicianID != is.TechnicianID || was.On != is.On {
		if err := keepWorkday(tx, was.TechnicianID, was.On); err != nil {
			return err
		}
	}
	return visitBorn(tx, is)
}

func visitBorn(tx *Tx, is *vent.Visit) error { return keepWorkday(tx, is.TechnicianID, is.On) }

// freeFor refuses a visit whose time is taken. A visit near midnight may reach into the day beside its own.
func freeFor(tx *Tx, v vent.Visit) error {
	if v.TechnicianID.IsZero() {
		return fmt.Errorf("book a visit of %s: say who makes it: %w", v.On, vent.ErrInvalid)
	}
	from, to := span(v)
	for _, on := range []vent.Date{v.On.AddDays(-1), v.On, v.On.AddDays(1)} {
		blocks, err := Workday(tx, v.TechnicianID, on)
		if err != nil {
			return err
		}
		for _, b := range blocks {
			if b.VisitID != v.ID && b.Kind != BlockDrive && b.stands(tx.now) && b.From < to && from < b.To {
				return fmt.Errorf("%02d:%02d on %s is taken: choose another time: %w", v.Start/60, v.Start%60, v.On, vent.ErrConflict)
			}
		}
	}
	return nil
}

// keepWorkday writes the row of a day as its visits have it.
func keepWorkday(tx *Tx, technician vent.ID, on vent.Date) error {
	if technician.IsZero() {
		return nil
	}
	blocks, err := workdayOf(tx, technician, on)
	if err != nil {
		return err
	}
	k := key{}.id(technician).date(on)
	if len(blocks) == 0 {
		return tx.delete(workdayBucket, k)
	}
	data, err := tx.codec.marshal(blocks)
	if err != nil {
		return err
	}
	return tx.put(workdayBucket, k, data)
}

// workdayOf works a day's blocks out from its visits.
func workdayOf(tx *Tx, technician vent.ID, on vent.Date) (blocks []Block, err error) {
	prefix := key{}.id(technician).date(on)
	for id, err := range visitTechnician.ids(tx, prefix, end(prefix)) {
		if err != nil {
			return nil, err
		}
		var v vent.Visit // not through the table, whose changes lead here
		if err := tx.codec.unmarshal(tx.get(string(vent.KindVisit), id[:]), &v); err != nil {
			return nil, fmt.Errorf("visit %s: %w", id, err)
		}
		if !v.State.Ahead() {
			continue
		}
		b := Block{Kind: BlockWork, VisitID: v.ID, Until: v.Until}
		b.From, b.To = span(v)
		switch {
		case v.SiteID.IsZero():
			b.Kind = BlockOwn
		case v.State == vent.Held:
			b.Kind = BlockHold
		}
		if v.Drive > 0 {
			blocks = append(blocks, Block{Kind: BlockDrive, VisitID: v.ID, From: b.From - vent.Instant(60*v.Drive), To: b.From, Until: v.Until})
		}
		blocks = append(blocks, b)
	}
	slices.SortStableFunc(blocks, func(a, b Block) int { return int(a.From - b.From) })
	return blocks, nil
}

// overlaps reports whether two bookings take the same time. Holds may: all but one of them ran out.
func overlaps(b Block, all []Block) bool {
	return (b.Kind == BlockWork || b.Kind == BlockOwn) && slices.ContainsFunc(all, func(o Block) bool {
		return (o.Kind == BlockWork || o.Kind == BlockOwn) && o.VisitID != b.VisitID && o.From < b.To && b.From < o.To
	})
}

// verifyWorkdays checks that each day's row is what its visits ask for.
func verifyWorkdays(tx *Tx, r *Report) error {
	days := map[string]bool{}
	for v, err := range Visits.All(tx) {
		if err != nil {
			return nil // told already
		}
		if v.TechnicianID.IsZero() || !v.State.Ahead() {
			continue
		}
		k := key{}.id(v.TechnicianID).date(v.On)
		if days[string(k)] {
			continue
		}
		days[string(k)] = true
		want, err := workdayOf(tx, v.TechnicianID, v.On)
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(want, func(b Block) bool { return overlaps(b, want) }); i >= 0 {
			r.add("working day %s of person %s: visit %s overlaps another", v.On, v.TechnicianID, want[i].VisitID)
		}
		if have, err := Workday(tx, v.TechnicianID, v.On); err != nil || !slices.Equal(have, want) {
			r.add("working day %s of person %s: its blocks are not those of its visits", v.On, v.TechnicianID)
		}
	}
	return tx.scan(workdayBucket, nil, nil, func(k, _ []byte) error {
		if !days[string(k)] {
			r.add("working day %x: no visit asks for it", k)
		}
		return nil
	})
}
