package desk_test

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// bookingChild names the environment variable that makes the test program book visits instead, in a process that can be killed.
const bookingChild = "VENTDUE_DESK_TEST_BOOKING"

func TestMain(m *testing.M) {
	if file := os.Getenv(bookingChild); file != "" {
		os.Exit(bookAll(file))
	}
	os.Exit(m.Run())
}

// bookAll books the first time that each site is offered and says so, a line each, until all sites have theirs.
func bookAll(file string) int {
	st, err := store.Open(file, store.Options{NoSync: true}) // a killed process loses nothing that the kernel has
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	d, by := desk.New(st, desk.DefaultPolicy(), nil), desk.By{Now: sunday, Actor: "customer"}
	var sites []vent.ID
	if err := st.View(func(tx *store.Tx) error {
		for s, err := range store.Sites.All(tx) {
			if err != nil {
				return err
			}
			sites = append(sites, s.ID)
		}
		return nil
	}); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	for _, id := range sites {
		scope := vent.Scope{Kind: vent.KindSite, ID: id}
		o, err := d.Offer(by, scope)
		if err == nil && len(o.Agreed) == 0 {
			x := o.Slots[0]
			_, err = d.BookSlot(by, scope, desk.SlotWish{TechnicianID: x.TechnicianID, On: x.On, Start: x.Start})
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		fmt.Println(id)
	}
	if err := st.Close(); err != nil {
		return 1
	}
	return 0
}

// A process that is killed while it books leaves whole bookings or none: each visit with its part, each due booked once, the
// technician's days as the visits say, and nothing that was answered is lost.
func TestKilledWhileBooking(t *testing.T) {
	const houses, kills = 60, 12
	file := filepath.Join(t.TempDir(), "ventdue.db")
	s := scene.Open(t, file, sunday, store.Options{NoSync: true})
	s.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Zone: newYork, Units: vent.US})
	technician(s, "Ida", "daily 07:00-19:00", nil)
	for i := range houses {
		h := s.House(fmt.Sprintf("House %d", i), newYork)
		place(s, h.Site, 40, -75)
		dueWithin(s, h, day(2), day(5), day(28))
	}
	s.Close()
	rng := rand.New(rand.NewPCG(3, 3))
	answered := map[string]bool{}
	for k := 0; k <= kills; k++ {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), bookingChild+"="+file)
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines, enough := 0, rng.IntN(5*(k+1))
		for read := bufio.NewScanner(out); read.Scan(); {
			answered[read.Text()] = true
			if lines++; lines == enough && k < kills {
				for range rng.IntN(200) {
					runtime.Gosched()
				}
				_ = cmd.Process.Kill() // it may just have ended
			}
		}
		if err := cmd.Wait(); err != nil && cmd.ProcessState.ExitCode() != -1 {
			t.Fatalf("the child failed: %v", err)
		}
		wholeBookings(t, file, answered)
	}
	if len(answered) != houses {
		t.Errorf("%d of %d sites are booked in the end", len(answered), houses)
	}
}

func wholeBookings(t *testing.T, file string, answered map[string]bool) {
	t.Helper()
	s := scene.Open(t, file, sunday, store.Options{NoSync: true})
	defer s.Close()
	if err := s.Store.Verify().Err(); err != nil { // of the days too
		t.Fatal(err)
	}
	booked := map[string]int{}
	s.View(func(tx *store.Tx) error {
		for v, err := range store.Visits.All(tx) {
			if err != nil {
				return err
			}
			parts, err := store.Collect(store.AppointmentsOf(tx, v.ID))
			if err != nil {
				return err
			}
			if v.State != vent.Booked || len(parts) != 1 || parts[0].State != vent.Booked || len(parts[0].Dues) != 1 {
				t.Errorf("half a booking: %+v with %+v", v, parts)
			}
			booked[v.SiteID.String()]++
		}
		return nil
	})
	for site := range answered {
		if booked[site] != 1 {
			t.Errorf("site %s was answered and is booked %d times", site, booked[site])
		}
	}
}
