package notify

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/notify/mail/smtptest"
	"ventdue/store"
	"ventdue/vent"
)

// childWork names the environment variable that makes the test program do the daemon's work instead, in a process that
// can be killed.
const childWork = "VENTDUE_NOTIFY_TEST_CHILD"

// childOrder is what the killed process works on.
type childOrder struct {
	File, Server string
	Now          time.Time
	// Hasty is for servers that go silent: it waits for no answer longer than a moment, and leaves the disk to the kernel, which
	// outlives a killed process.
	Hasty bool
}

// runChild decides and delivers over a real data file until nothing is left to do, at the moment it is given.
func runChild(order string) int {
	var o childOrder
	if err := json.Unmarshal([]byte(order), &o); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 2
	}
	carrier := mail.SMTP{Addr: o.Server, Security: mail.Plain}
	if o.Hasty {
		carrier.CommandTimeout, carrier.FinalTimeout = 300*time.Millisecond, 300*time.Millisecond
	}
	st, err := store.Open(o.File, store.Options{NoSync: o.Hasty})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 2
	}
	policy := desk.DefaultPolicy()
	policy.Cadence.Opens, policy.Cadence.Shuts = 0, 24*60
	d := desk.New(st, policy, nil)
	now := func() time.Time { return o.Now }
	out := Outbox{Desk: d, Carrier: carrier, Sender: larkspur, Now: now,
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Actor: "clock"}
	if _, err = d.Tell(context.Background(), desk.By{Now: o.Now, Actor: "clock"}); err == nil {
		_, err = out.Deliver(context.Background(), o.Now)
	}
	if err != nil && !o.Hasty { // a server at fault stops a round, which is no fault of the child
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	if err := st.Close(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// TestKilledAnywhere kills the deciding and delivering process thirty times, at random points of its talk with the mail
// server and of its writing, and starts it again each time half an hour later: no message is lost, and there are no
// more copies than connections that were open at a kill, each under the Message-ID of the first.
func TestKilledAnywhere(t *testing.T) {
	const persons, kills, seed = 300, 30, 11
	file := filepath.Join(t.TempDir(), "ventdue.db")
	s := scene.Open(t, file, noon, store.Options{NoSync: true})
	s.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Zone: "America/New_York", Units: vent.US})
	neighbours(s, persons, "p%d@example.com")
	s.Close()

	server := smtptest.Start(t, smtptest.Options{})
	rng := rand.New(rand.NewPCG(seed, seed))
	now, killed := noon, 0
	for tries := 0; killed < kills && tries < 2*kills; tries++ {
		// One kill in two is after so many commands, the other right after a message's final dot has come.
		until, enough := func() int { return len(server.Commands()) }, rng.IntN(40)
		if tries%2 == 1 {
			until, enough = func() int { return len(server.Messages()) }, 1+rng.IntN(10)
		}
		enough += until()
		if runAndKill(t, server, childOrder{File: file, Server: server.Addr(), Now: now}, func() bool { return until() >= enough }, rng.IntN(300)) {
			killed++
		}
		now = now.Add(aWhile)
	}
	for range 3 { // an orphan of the last kill comes back
		if runAndKill(t, server, childOrder{File: file, Server: server.Addr(), Now: now}, nil, 0) {
			t.Fatal("the last runs are not killed")
		}
		now = now.Add(aWhile)
	}
	all := arrivals(server.Messages())
	n := copies(t, all)
	t.Logf("%d persons, %d kills: %d got the message, %d lost, %d copies", persons, killed, len(all), persons-len(all), n)
	if len(all) != persons || n > killed || killed < kills {
		t.Errorf("%d of %d persons got the message, %d copies of %d kills", len(all), persons, n, killed)
	}
	checkSettled(t, file, persons)
}

// aWhile is after how long an orphan comes back.
const aWhile = 30*time.Minute + time.Second

// runAndKill runs the child and kills it when the server has seen enough, after so many turns of the scheduler; false when it
// ended by itself before that. A nil enough kills nobody.
func runAndKill(t *testing.T, server *smtptest.Server, o childOrder, enough func() bool, turns int) (killed bool) {
	t.Helper()
	order, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), childWork+"="+string(order))
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended, end := context.WithCancel(t.Context())
	result := make(chan error, 1)
	go func() {
		result <- cmd.Wait()
		end()
	}()
	if enough != nil && server.Wait(ended, enough) == nil {
		for range turns {
			runtime.Gosched()
		}
		_ = cmd.Process.Kill() // it may just have ended
	}
	err = <-result
	end()
	if err == nil {
		return false
	}
	if cmd.ProcessState.ExitCode() != -1 {
		t.Fatalf("the child failed: %v", err)
	}
	return true
}

// checkSettled wants everybody's one message accepted and the data file whole.
func checkSettled(t *testing.T, file string, persons int) {
	t.Helper()
	s := scene.Open(t, file, noon, store.Options{})
	defer s.Close()
	if err := s.Store.Verify().Err(); err != nil {
		t.Error(err)
	}
	s.View(func(tx *store.Tx) error {
		accepted := 0
		for m, err := range store.Messages.All(tx) {
			if err != nil {
				return err
			}
			if m.State != vent.MessageAccepted {
				t.Errorf("message to %s is %s: %s", m.To, m.State, m.Answer)
			}
			accepted++
		}
		if accepted != persons {
			t.Errorf("%d messages for %d persons", accepted, persons)
		}
		return nil
	})
}
