package web

import (
	"net/netip"
	"sync"
	"time"
)

// How guessing is slowed: some tries are free, then the wait doubles up to a quarter of an hour. Ours.
const (
	freeTries  = 5
	longestTry = 15 * time.Minute
	forgetTry  = 24 * time.Hour // without a try
	maxTriers  = 4096
)

// gate slows guessing of the password, apart for each address or known device: whoever guesses from somewhere makes
// nobody wait but those at the same address, and not even there a device that has signed in before.
type gate struct {
	mu     sync.Mutex
	triers map[string]*tries
}

type tries struct {
	n    int
	last time.Time
	next time.Time // no try before
}

func newGate() *gate { return &gate{triers: map[string]*tries{}} }

// trier names who tries: the device where it is known, else the address. A household's IPv6 addresses share
// their first 64 bits.
func trier(device string, addr netip.Addr) string {
	if device != "" {
		return "device " + device
	}
	if addr.Is6() && !addr.Is4In6() {
		if p, err := addr.Prefix(64); err == nil {
			return p.String()
		}
	}
	return addr.String()
}

// try counts a try before it is made, so that many at once count as many; it gives how long to wait instead.
func (g *gate) try(who string, now time.Time) (wait time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	t := g.triers[who]
	if t == nil || now.Sub(t.last) > forgetTry {
		g.makeRoom(now)
		t = &tries{}
		g.triers[who] = t
	}
	if wait := t.next.Sub(now); wait > 0 {
		return wait
	}
	t.n++
	t.last = now
	if over := t.n - freeTries; over >= 0 {
		t.next = now.Add(min(longestTry, time.Second<<min(over, 20)))
	}
	return 0
}

// forgive forgets the tries of whoever knew the password.
func (g *gate) forgive(who string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.triers, who)
}

// makeRoom keeps the memory of tries bounded: old ones go first.
func (g *gate) makeRoom(now time.Time) {
	if len(g.triers) < maxTriers {
		return
	}
	oldest, at := "", now
	for who, t := range g.triers {
		if now.Sub(t.last) > forgetTry {
			delete(g.triers, who)
		} else if !t.last.After(at) {
			oldest, at = who, t.last
		}
	}
	if len(g.triers) >= maxTriers {
		delete(g.triers, oldest)
	}
}
