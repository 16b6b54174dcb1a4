package main

import (
	"context"
	"errors"
	"time"

	"ventdue/config"
	"ventdue/desk"
	"ventdue/notify"
	"ventdue/scheduler/clockwork"
	"ventdue/store"
	"ventdue/vent"
)

const (
	jobBounces = "bounces"
	markTick   = "tick"
	markBackup = "backup"
)

// specs gives the cron spec of each job that settings can change.
func specs(cfg config.Config) map[string]string {
	return map[string]string{
		desk.JobTell: cfg.Schedule.Tell, desk.JobDeliver: cfg.Schedule.Deliver,
		desk.JobReplan: cfg.Schedule.Replan, desk.JobBackup: cfg.Schedule.Backup,
		desk.JobVisits: cfg.Schedule.Visits,
	}
}

// newClock gives the clock its jobs. They run once at the start, in this order, so that what was missed while the daemon
// was off is made up: planned first, then told, then sent.
func (d *theDaemon) newClock(cfg config.Config) (*clockwork.Clock, error) {
	spec := specs(cfg)
	return clockwork.New(clockwork.Options{
		Zone: cfg.Zone, Log: d.log, BuildDate: buildDate(), Now: d.now,
		LastTick: d.lastTick, SaveTick: d.saveTick,
		OnClock: func(s clockwork.Suspicion) {
			if s.Suspicious() {
				d.log.Error("the clock is doubted: nothing is sent until it is right", "reason", s.Reason)
			}
		},
	},
		clockwork.Job{Name: desk.JobDaily, Spec: "5 0 * * *", Run: d.daily},
		clockwork.Job{Name: desk.JobLearn, Spec: "20 2 * * *", Run: d.learn},
		clockwork.Job{Name: desk.JobReplan, Spec: spec[desk.JobReplan], Run: d.replan},
		clockwork.Job{Name: desk.JobVisits, Spec: spec[desk.JobVisits], Run: d.proposeVisits},
		clockwork.Job{Name: desk.JobTell, Spec: spec[desk.JobTell], Run: d.tell},
		clockwork.Job{Name: desk.JobDeliver, Spec: spec[desk.JobDeliver], Run: d.deliver},
		clockwork.Job{Name: jobBounces, Spec: "*/2 * * * *", Run: d.bounces},
		clockwork.Job{Name: "feeds", Spec: "*/10 * * * *", Run: d.flushFeeds},
		clockwork.Job{Name: desk.JobBackup, Spec: spec[desk.JobBackup], Run: d.backup},
	)
}

// by names a job in the audit trail, at the moment it writes.
func (d *theDaemon) by(job string) desk.By { return desk.By{Now: d.now(), Actor: "clock: " + job} }

func (d *theDaemon) lastTick() (at time.Time, err error) {
	err = d.house.store.View(func(tx *store.Tx) error {
		at = tx.Mark(markTick).Time()
		return nil
	})
	return at, err
}

func (d *theDaemon) saveTick(at time.Time) error { return d.mark(markTick, at) }

func (d *theDaemon) mark(name string, at time.Time) error {
	return d.house.store.Update(store.Stamp{Now: at, Actor: "clock"}, func(tx *store.Tx) error {
		return tx.SetMark(name, vent.InstantOf(at))
	})
}

func (d *theDaemon) daily(context.Context, time.Time) (time.Time, error) {
	if err := d.house.desk.WakeStops(d.by(desk.JobDaily)); err != nil {
		return time.Time{}, err
	}
	if err := d.house.desk.WakeOperator(d.by(desk.JobDaily)); err != nil {
		return time.Time{}, err
	}
	return time.Time{}, d.house.desk.MoveHorizon(d.by(desk.JobDaily))
}

func (d *theDaemon) replan(ctx context.Context, _ time.Time) (time.Time, error) {
	if err := d.house.desk.EndHolds(d.by(desk.JobReplan)); err != nil {
		return time.Time{}, err
	}
	next, err := d.house.desk.EndWaivers(ctx, d.by(desk.JobReplan))
	if err != nil {
		return next, err
	}
	_, err = d.house.desk.Replan(ctx, d.by(desk.JobReplan))
	return next, err
}

// proposeVisits plans the coming weeks where somebody makes visits.
func (d *theDaemon) proposeVisits(ctx context.Context, _ time.Time) (time.Time, error) {
	people, err := d.house.desk.Technicians()
	if err != nil || len(people) == 0 {
		return time.Time{}, err
	}
	p, err := d.house.desk.Propose(ctx, d.by(desk.JobVisits))
	if p.New+p.Moved+p.Dropped > 0 {
		d.log.Info("visits are proposed", "new", p.New, "moved", p.Moved, "kept", p.Kept, "dropped", p.Dropped, "late", len(p.Late))
	}
	return time.Time{}, err
}

func (d *theDaemon) learn(ctx context.Context, _ time.Time) (time.Time, error) {
	out, err := d.house.desk.LearnFromNeighbours(ctx, d.by(desk.JobLearn))
	if out.Queued > 0 {
		d.log.Info("neighbours teach something else than before", "runs", out.Runs, "planned_anew", out.Queued)
	}
	return time.Time{}, err
}

// doubtful is when to look again while the clock is doubted.
const doubtful = 5 * time.Minute

// tell and deliver do nothing while the clock is doubted: a wrong day must not be told, and a right one can wait.
func (d *theDaemon) tell(ctx context.Context, now time.Time) (time.Time, error) {
	if d.clock.Suspicion().Suspicious() {
		return now.Add(doubtful), nil
	}
	return d.house.desk.Tell(ctx, d.by(desk.JobTell))
}

func (d *theDaemon) deliver(ctx context.Context, now time.Time) (time.Time, error) {
	if d.clock.Suspicion().Suspicious() {
		return now.Add(doubtful), nil
	}
	live := d.live.Load()
	next, err := live.outbox.Deliver(ctx, now)
	hooked, hookErr := live.hook.Deliver(ctx, now)
	if next.IsZero() || !hooked.IsZero() && hooked.Before(next) {
		next = hooked
	}
	return next, errors.Join(err, hookErr)
}

// bounces looks through the Maildir to which mail comes back, where one is set.
func (d *theDaemon) bounces(ctx context.Context, _ time.Time) (time.Time, error) {
	dir := d.live.Load().cfg.Mail.Bounces
	if dir == "" {
		return time.Time{}, nil
	}
	n, err := notify.TakeMaildir(ctx, d.house.desk, func() desk.By { return d.by(jobBounces) }, d.live.Load().outbox.Sender.Returns, dir)
	if n != (notify.BounceTally{}) {
		d.log.Info("mail came back", "taken", n.Taken, "not_ours", n.Foreign, "to_be_read", n.Unclear)
	}
	return time.Time{}, err
}

func (d *theDaemon) flushFeeds(context.Context, time.Time) (time.Time, error) {
	return time.Time{}, d.live.Load().feeds.Flush(d.by("feeds"))
}

// backup copies the data file once a day, also when the hour was missed, and lets the oldest copies go.
func (d *theDaemon) backup(_ context.Context, now time.Time) (time.Time, error) {
	cfg := d.live.Load().cfg
	var last time.Time
	if err := d.house.store.View(func(tx *store.Tx) error {
		last = tx.Mark(markBackup).Time()
		return nil
	}); err != nil {
		return time.Time{}, err
	}
	// At the start there is a copy of today already, more often than not.
	if now.Sub(last) < 12*time.Hour && !now.Before(last) {
		return time.Time{}, nil
	}
	if err := d.house.backup(cfg.Backup.Dir, backupName(now)); err != nil {
		return time.Time{}, err
	}
	if err := d.mark(markBackup, now); err != nil {
		return time.Time{}, err
	}
	return time.Time{}, pruneBackups(cfg.Backup.Dir, cfg.Backup.Keep)
}
