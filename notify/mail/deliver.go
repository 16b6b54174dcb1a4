package mail

import (
	"context"
	"fmt"
	"time"
)

// Tally counts what one run of [Deliver] did.
type Tally struct {
	Accepted, Deferred, Failed, Unknown int
	Connections                         int // connections opened, or tried to
}

func (t *Tally) count(k Kind) {
	switch k {
	case Accepted:
		t.Accepted++
	case Failed:
		t.Failed++
	case Unknown:
		t.Unknown++
	default:
		t.Deferred++
	}
}

// Sent is the number of jobs that were settled.
func (t Tally) Sent() int { return t.Accepted + t.Deferred + t.Failed + t.Unknown }

const (
	// patience is the number of jobs in a row that may meet trouble of our own before Deliver stops.
	patience = 3
	// Grace is how long the running job may go on after ctx has ended: cutting it at once would turn an
	// answer on its way into an unknown one.
	Grace = 20 * time.Second
)

// Deliver takes jobs one by one and sends them over one connection, renewed when it is used up or breaks.
//
// next returns the next job, already stored as attempted, or nil when there is none. settle stores the
// outcome of a job.
//
// Invariant: a job's outcome is settled before next is called again and before anything else goes over the
// connection. So whenever the process dies, at most one job for each running Deliver was sent without a
// record of the answer.
//
// Deliver returns nil when next has no more, and when ctx ends; the running job is then finished, within
// [Grace], and settled. It returns an error at once when next or settle fail, and when three jobs in a row
// met trouble of our own ([Outcome].Ours): the rest would meet the same, and each try costs it a place in
// its schedule. The tally is right in every case.
func Deliver(ctx context.Context, c Carrier, next func() (*Job, error), settle func(Job, Outcome) error) (Tally, error) {
	d := delivery{carrier: c}
	defer d.hangUp()
	sending, cancel := afterGrace(ctx)
	defer cancel()

	for trouble := 0; ctx.Err() == nil; {
		job, err := next()
		if err != nil {
			return d.tally, fmt.Errorf("deliver: take next message: %w", err)
		}
		if job == nil {
			return d.tally, nil
		}
		o := d.send(ctx, sending, *job)
		d.tally.count(o.Kind)
		if err := settle(*job, o); err != nil {
			return d.tally, fmt.Errorf("deliver: store outcome of %s (%s): %w", job.ID, o, err)
		}
		if trouble++; !o.Ours {
			trouble = 0
		}
		if trouble == patience {
			return d.tally, fmt.Errorf("deliver: stopped, the last %d messages met the same kind of trouble: %s", patience, o.Reason)
		}
	}
	return d.tally, nil
}

// delivery is the state of one Deliver: its connection, if any.
type delivery struct {
	carrier Carrier
	conn    Conn
	tally   Tally
}

// send tries the job on the connection there is. Where that had carried others and now turns out to be
// closed (servers hang up on idle or long sessions), the job was certainly not taken and gets its try on a
// fresh one.
func (d *delivery) send(ctx, sending context.Context, job Job) Outcome {
	fresh := d.conn == nil
	o := d.try(ctx, sending, job)
	if !fresh && o.Kind == Deferred && o.Ours && o.Closed && ctx.Err() == nil {
		o = d.try(ctx, sending, job)
	}
	return o
}

// try opens a connection if there is none, under ctx (nothing is lost by giving up), and sends under
// sending, which outlives ctx by the grace.
func (d *delivery) try(ctx, sending context.Context, job Job) Outcome {
	if d.conn == nil {
		d.tally.Connections++
		conn, err := d.carrier.Open(ctx)
		if err != nil {
			return notOpened(err)
		}
		d.conn = conn
	}
	o := d.conn.Send(sending, job)
	if o.Closed {
		d.hangUp()
	}
	return o
}

func (d *delivery) hangUp() {
	if d.conn != nil {
		_ = d.conn.Close() // every outcome is known by now
		d.conn = nil
	}
}

// afterGrace returns a context that ends Grace after parent does.
func afterGrace(parent context.Context) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(context.WithoutCancel(parent))
	stop := context.AfterFunc(parent, func() {
		select {
		case <-time.After(Grace):
			cancel()
		case <-ctx.Done():
		}
	})
	return ctx, func() { stop(); cancel() }
}
