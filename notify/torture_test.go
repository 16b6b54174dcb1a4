package notify

import (
	"cmp"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ventdue/internal/scene"
	"ventdue/notify/mail/smtptest"
	"ventdue/store"
	"ventdue/vent"
)

// tortured is how many notices are sent through the worst: VENTDUE_TORTURE asks for another number (`make torture` for 10 000).
func tortured(t *testing.T, usual int) int {
	t.Helper()
	n, err := strconv.Atoi(cmp.Or(os.Getenv("VENTDUE_TORTURE"), strconv.Itoa(usual)))
	if err != nil || n < 3 {
		t.Fatalf("VENTDUE_TORTURE=%q is not a number of notices", os.Getenv("VENTDUE_TORTURE"))
	}
	return n
}

// TestTorture sends notices through a mail server that refuses connections, says goodbye in the middle, drops the line before
// and after the final dot, goes silent, takes on a second try only, and refuses one person of three for good, while the
// sending process is killed (SIGKILL) fifty times at random points and started again.
//
// None may be lost in silence: each arrives, or the answer to it was lost twice, after which nobody tries again and it stands as
// unsure where somebody can see it. Copies may come only from an answer that was lost after the message, and from a kill before the
// answer was stored, one for the one open connection; each is the same message under the same Message-ID. Whatever stayed
// unknown ends where somebody can see it.
func TestTorture(t *testing.T) {
	const kills, seed = 50, 19
	n := tortured(t, 1000)
	file := filepath.Join(t.TempDir(), "ventdue.db")
	s := scene.Open(t, file, noon, store.Options{NoSync: true})
	s.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Zone: "America/New_York", Units: vent.US})
	neighbours(s, n-n/3, "p%d@example.com")
	neighbours(s, n/3, "p%d@refused.example")
	s.Close()

	server := smtptest.Start(t, smtptest.Options{})
	rng := rand.New(rand.NewPCG(seed, seed))
	now, killed, lost, runs := noon, 0, 0, 0
	round := func(toKill bool) {
		server.Heal()
		server.Inject(smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no such mailbox").For("@refused.example"))
		lost += trouble(server, rng, n/kills)
		o := childOrder{File: file, Server: server.Addr(), Now: now, Hasty: true}
		until, enough := func() int { return len(server.Commands()) }, rng.IntN(4*n/kills)
		if runs%2 == 1 { // right after a final dot
			until, enough = func() int { return len(server.Messages()) }, 1+rng.IntN(n/kills)
		}
		enough += until()
		var when func() bool
		if toKill {
			when = func() bool { return until() >= enough }
		}
		if runAndKill(t, server, o, when, rng.IntN(300)) {
			killed++
		}
		now, runs = now.Add(aWhile), runs+1
	}
	for killed < kills && runs < 6*kills {
		round(true)
	}
	for ; now.Before(noon.AddDate(0, 0, 12)) && waiting(t, file) > 0; runs++ {
		round(false)
	}
	all := arrivals(server.Messages())
	got := copies(t, all)
	ends, unknown, unsure := endings(t, file)
	missed := 0 // lost on both ways, and seen to be
	for _, to := range unsure {
		if len(all[to]) == 0 && !strings.HasSuffix(to, "@refused.example") {
			missed++
		}
	}
	t.Logf("%d notices, %d kills, %d runs, %d connections, %d answers lost: %d got the message, %d refused for good, %d missed it and stand as unsure, %d lost, %d copies; messages ended %v, %d of them were once unknown",
		n, killed, runs, server.Connections(), lost, len(all), ends[vent.MessageFailed], missed, n-n/3-len(all)-missed, got, ends, unknown)
	if killed < kills || len(all)+missed != n-n/3 || ends[vent.MessageFailed] != n/3 || got > lost+killed {
		t.Errorf("%d of %d got the message, %d missed it and stand as unsure, %d of %d were refused, %d copies of %d lost answers and %d kills", len(all), n-n/3, missed, ends[vent.MessageFailed], n/3, got, lost, killed)
	}
	for to := range all {
		if strings.HasSuffix(to, "@refused.example") {
			t.Errorf("%s got a message", to)
		}
	}
}

// trouble gives the server faults that strike once each in the next round, and counts those after which nobody knows.
func trouble(server *smtptest.Server, rng *rand.Rand, round int) (lost int) {
	later := []smtptest.Fault{
		smtptest.Refuse(), smtptest.SayGoodbye(smtptest.Hello), smtptest.SayGoodbye(smtptest.Mail), smtptest.SayGoodbye(smtptest.Data), smtptest.SayGoodbye(smtptest.Dot),
		smtptest.SayGoodbye(smtptest.Body), smtptest.Answer(smtptest.Mail, "452 4.3.1 full"), smtptest.Answer(smtptest.Rcpt, "451 4.7.1 grey"),
		smtptest.Answer(smtptest.Data, "451 4.3.0 later"), smtptest.Answer(smtptest.Dot, "451 4.3.0 later"), smtptest.DropBeforeDot(), smtptest.HangAt(smtptest.Mail),
	}
	for range 8 {
		server.Inject(later[rng.IntN(len(later))].After(rng.IntN(round + 1)).Once())
	}
	if rng.IntN(2) == 0 {
		lost++
		server.Inject(smtptest.DropAfterDot().After(rng.IntN(round/2 + 1)).Once())
	}
	if rng.IntN(4) == 0 {
		lost++
		server.Inject(smtptest.Fault{At: smtptest.Dot, Keep: true, Hang: true}.After(rng.IntN(round/2 + 1)).Once())
	}
	return lost
}

// waiting counts the messages that are not at their end.
func waiting(t *testing.T, file string) (n int) {
	t.Helper()
	s := scene.Open(t, file, noon, store.Options{NoSync: true})
	defer s.Close()
	s.View(func(tx *store.Tx) (err error) {
		n, err = store.CountMessagesWaiting(tx)
		return err
	})
	return n
}

// endings counts how the messages ended, and those of which at some time nobody knew whether they had arrived: each of these is
// accepted by now, or says so where it is looked for; unsure are the addresses of the latter. The data file is whole.
func endings(t *testing.T, file string) (ends map[vent.MessageState]int, unknown int, unsure []string) {
	t.Helper()
	s := scene.Open(t, file, noon.AddDate(0, 0, 12), store.Options{NoSync: true})
	defer s.Close()
	if err := s.Store.Verify().Err(); err != nil {
		t.Error(err)
	}
	ends = map[vent.MessageState]int{}
	s.View(func(tx *store.Tx) error {
		for m, err := range store.Messages.All(tx) {
			if err != nil {
				return err
			}
			ends[m.State]++
			if m.Unknowns == 0 {
				continue
			}
			unknown++
			if m.State == vent.MessageAccepted {
				continue
			}
			n, err := store.Notices.Get(tx, m.Notices[0])
			if err != nil || n.State != vent.NoticeUnsure || m.State == vent.MessageExpired && !strings.Contains(n.Why, "may have arrived") || n.Why == "" {
				t.Errorf("message to %s is %s (%s), its notice %s (%s), %v", m.To, m.State, m.Answer, n.State, n.Why, err)
				continue
			}
			unsure = append(unsure, m.To)
		}
		return nil
	})
	return ends, unknown, unsure
}
