package mail

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"ventdue/notify/mail/smtptest"
)

// queue hands out jobs and checks the invariant of Deliver: no job is taken while another is not settled.
type queue struct {
	t       testing.TB
	jobs    []Job
	open    string // id of the job that is out, if any
	settled []string
	kinds   map[string]Kind
}

func newQueue(t testing.TB, n int) *queue {
	q := &queue{t: t, kinds: map[string]Kind{}}
	for i := range n {
		q.jobs = append(q.jobs, job(t, i))
	}
	return q
}

func (q *queue) next() (*Job, error) {
	if q.open != "" {
		q.t.Errorf("next was called while %s was not settled", q.open)
	}
	if len(q.jobs) == 0 {
		return nil, nil
	}
	j := q.jobs[0]
	q.jobs, q.open = q.jobs[1:], j.ID
	return &j, nil
}

func (q *queue) settle(j Job, o Outcome) error {
	if q.open != j.ID {
		q.t.Errorf("%s was settled, %s is out", j.ID, q.open)
	}
	q.open = ""
	q.settled = append(q.settled, j.ID)
	q.kinds[j.ID] = o.Kind
	return nil
}

func TestDeliverRenewsUsedConnections(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	q := newQueue(t, 120)
	tally, err := Deliver(t.Context(), plain(s), q.next, q.settle)
	if err != nil || tally != (Tally{Accepted: 120, Connections: 3}) {
		t.Errorf("%+v, %v", tally, err)
	}
	for _, m := range s.Messages() {
		if want := (atoi(t, m.ID)/50 + 1); m.Conn != want {
			t.Errorf("%s came over connection %d, want %d", m.ID, m.Conn, want)
		}
	}
	if n := len(s.Counts()); n != 120 || len(s.Messages()) != 120 {
		t.Errorf("%d distinct of %d", n, len(s.Messages()))
	}
	for _, c := range s.Commands() {
		if c == "NOOP" || c == "RSET" {
			t.Errorf("said %s", c)
		}
	}
}

func atoi(t testing.TB, id string) (n int) {
	t.Helper()
	if _, err := fmt.Sscanf(id, "m%d@", &n); err != nil {
		t.Fatal(err)
	}
	return n
}

// Nothing is lost on a server that fails in every way between good messages, and copies can only come from
// answers lost after the final dot.
func TestDeliverThroughFaults(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(
		smtptest.SayGoodbye(smtptest.Mail).After(5).Once(),
		smtptest.DropAfterDot().After(20).Once(),
		smtptest.Answer(smtptest.Rcpt, "451 4.2.0 later").After(40).Once(),
		smtptest.Answer(smtptest.Rcpt, "550 5.1.1 unknown").For("bob@example.org"),
		smtptest.Fault{At: smtptest.Rcpt, Drop: true}.After(60).Once(),
		smtptest.Refuse().After(3).Once(),
	)
	q := newQueue(t, 100)
	q.jobs[30].To = "bob@example.org"
	tally, err := Deliver(t.Context(), plain(s), q.next, q.settle)
	if err != nil || tally.Sent() != 100 || tally.Failed != 1 || tally.Unknown != 1 || tally.Accepted+tally.Deferred != 98 {
		t.Errorf("%+v, %v", tally, err)
	}
	counts := s.Counts()
	for id, kind := range q.kinds {
		n := counts[id+"@mail.example.com"]
		if kind == Accepted && n != 1 || (kind == Deferred || kind == Failed) && n != 0 || kind == Unknown && n > 1 {
			t.Errorf("%s is %v and the server has %d", id, kind, n)
		}
	}
	// The goodbye on a working connection cost nothing: the job went over a fresh one.
	if q.kinds["m5"] != Accepted {
		t.Errorf("m5 is %v", q.kinds["m5"])
	}
}

// Trouble that is not the recipients' stops the run after three, and leaves the rest their place in line.
func TestDeliverStopsOnTroubleOfOurOwn(t *testing.T) {
	for words, fault := range map[string]smtptest.Fault{
		"sender not allowed": smtptest.Answer(smtptest.Mail, "550 5.7.1 sender not allowed"),
		"relay denied":       smtptest.Answer(smtptest.Rcpt, "554 5.7.1 relay denied"),
		"greeting":           smtptest.Refuse(),
		"421":                smtptest.SayGoodbye(smtptest.Mail),
	} {
		s := smtptest.Start(t, smtptest.Options{})
		s.Inject(fault)
		q := newQueue(t, 10)
		tally, err := Deliver(t.Context(), plain(s), q.next, q.settle)
		if err == nil || !strings.Contains(err.Error(), words) || tally.Deferred != 3 || tally.Sent() != 3 || len(q.jobs) != 7 {
			t.Errorf("%s: %+v, %v", words, tally, err)
		}
	}
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.Answer(smtptest.Rcpt, "550 5.1.1 unknown"))
	q := newQueue(t, 10)
	if tally, err := Deliver(t.Context(), plain(s), q.next, q.settle); err != nil || tally != (Tally{Failed: 10, Connections: 1}) {
		t.Errorf("ten unknown recipients: %+v, %v", tally, err)
	}
}

// When an outcome cannot be stored, nothing more is sent.
func TestDeliverStopsWhenTheStoreFails(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	q := newQueue(t, 5)
	full := errors.New("disk full")
	tally, err := Deliver(t.Context(), plain(s), q.next, func(Job, Outcome) error { return full })
	if !errors.Is(err, full) || !strings.Contains(err.Error(), "m0") || tally.Accepted != 1 || len(s.Messages()) != 1 {
		t.Errorf("%+v, %v, %d sent", tally, err, len(s.Messages()))
	}
	if _, err := Deliver(t.Context(), plain(s), func() (*Job, error) { return nil, full }, q.settle); !errors.Is(err, full) {
		t.Errorf("%v", err)
	}
}

func TestDeliverNothing(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	q := newQueue(t, 0)
	if tally, err := Deliver(t.Context(), plain(s), q.next, q.settle); err != nil || tally != (Tally{}) || s.Connections() != 0 {
		t.Errorf("%+v, %v, %d connections", tally, err, s.Connections())
	}
}

// slow is a carrier whose messages take a while, or for ever, on the clock of a synctest bubble.
type slow struct{ takes time.Duration }

func (s slow) Open(context.Context) (Conn, error) { return s, nil }
func (s slow) Close() error                       { return nil }
func (s slow) Send(ctx context.Context, _ Job) Outcome {
	select {
	case <-time.After(s.takes):
		return Outcome{Kind: Accepted}
	case <-ctx.Done():
		return Outcome{Kind: Unknown, Ours: true, Closed: true}
	}
}

// When ctx ends, the running message is finished and settled and no other is taken; one that takes for ever
// is cut after the grace.
func TestDeliverEndsGracefully(t *testing.T) {
	for _, tc := range []struct {
		takes, after time.Duration
		want         Tally
	}{
		{10 * time.Second, 12 * time.Second, Tally{Accepted: 2, Connections: 1}},
		{time.Hour, time.Second, Tally{Unknown: 1, Connections: 1}},
	} {
		synctest.Test(t, func(t *testing.T) {
			q := newQueue(t, 5)
			ctx, cancel := context.WithTimeout(t.Context(), tc.after)
			defer cancel()
			start := time.Now()
			tally, err := Deliver(ctx, slow{tc.takes}, q.next, q.settle)
			if err != nil || tally != tc.want || len(q.settled) != tally.Sent() {
				t.Errorf("%+v, %v, settled %v", tally, err, q.settled)
			}
			if took, limit := time.Since(start), tc.after+min(tc.takes, Grace); took > limit {
				t.Errorf("took %v, limit %v", took, limit)
			}
		})
	}
}

func TestDeliverCancelledTakesNothing(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	q := newQueue(t, 2)
	if tally, err := Deliver(ctx, slow{}, q.next, q.settle); err != nil || tally != (Tally{}) || len(q.jobs) != 2 {
		t.Errorf("%+v, %v", tally, err)
	}
}

func TestDeliverToFolder(t *testing.T) {
	dir := t.TempDir()
	q := newQueue(t, 3)
	again := slices.Clone(q.jobs)
	for range 2 {
		if tally, err := Deliver(t.Context(), Folder{Dir: dir + "/out/mail"}, q.next, q.settle); err != nil || tally != (Tally{Accepted: 3, Connections: 1}) {
			t.Errorf("%+v, %v", tally, err)
		}
		q.jobs = again
	}
	checkFolder(t, dir+"/out/mail", again)
}
