package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ventdue/vent"
)

// The tests of crashes run this test's own program again as another process.
const (
	childJob  = "VENTDUE_STORE_TEST_CHILD"
	childPath = "VENTDUE_STORE_TEST_PATH"
)

// child is another process at work on a data file.
type child struct {
	*exec.Cmd
	out   *bufio.Scanner
	stdin io.WriteCloser
}

func startChild(t *testing.T, job, path string) *child {
	t.Helper()
	c := &child{Cmd: exec.Command(os.Args[0])}
	c.Env = append(os.Environ(), childJob+"="+job, childPath+"="+path)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if c.stdin, err = c.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	c.out = bufio.NewScanner(out)
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	return c
}

// rest gives what the child says until it ends.
func (c *child) rest() (lines []string) {
	for c.out.Scan() {
		lines = append(lines, c.out.Text())
	}
	return lines
}

func runChild(job string) int {
	path := os.Getenv(childPath)
	jobs := map[string]func(string) error{
		"hold": childHolds, "write": childWrites, "write once": childWritesOnce, "fill the disk": childFillsDisk,
		"die before commit": func(p string) error { return childDies(p, "before commit") },
		"die after commit":  func(p string) error { return childDies(p, "after commit") },
	}
	if err := jobs[job](path); err != nil {
		fmt.Fprintln(os.Stderr, "child:", err)
		return 1
	}
	return 0
}

// childHolds keeps the file open until its input ends.
func childHolds(path string) error {
	s, err := Open(path, Options{})
	if err != nil {
		return err
	}
	fmt.Println("holding")
	_, err = io.Copy(io.Discard, os.Stdin)
	return errors.Join(err, s.Close())
}

// pair stores two records that are only right together, and gives the customer's ID.
func pair(s *Store) (made vent.ID, err error) {
	err = s.Update(stamp(0), func(tx *Tx) error {
		p := vent.Person{ID: tx.NewID(), Name: "Ida Lund", Email: "ida@example.com"}
		made = tx.NewID()
		if err := Persons.Put(tx, p, "made"); err != nil {
			return err
		}
		return Customers.Put(tx, customer(made, p.ID), "made")
	})
	return made, err
}

// childWrites stores pairs from many goroutines, and says each one's ID when it is stored, until it is killed.
func childWrites(path string) error {
	s, err := Open(path, Options{})
	if err != nil {
		return err
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for {
				made, err := pair(s)
				if err != nil {
					fmt.Fprintln(os.Stderr, err)
					return
				}
				fmt.Println(made) // one write, unbuffered
			}
		})
	}
	wg.Wait()
	return errors.New("ended by itself")
}

// childDies ends itself, as kill -9 does, at the point of its tenth commit.
func childDies(path, point string) error {
	s, err := Open(path, Options{})
	if err != nil {
		return err
	}
	n := 0
	s.failAt = func(at string) error {
		if at == point {
			if n++; n == 10 {
				return syscall.Kill(os.Getpid(), syscall.SIGKILL)
			}
		}
		return nil
	}
	for {
		made, err := pair(s)
		if err != nil {
			return err
		}
		fmt.Println(made)
	}
}

func childWritesOnce(path string) error {
	s, err := Open(path, Options{LockWait: time.Minute})
	if err != nil {
		return err
	}
	made, err := pair(s)
	fmt.Println(made)
	return errors.Join(err, s.Close())
}

// childFillsDisk writes under a limit of file size until that is reached, lifts the limit, and writes again.
func childFillsDisk(path string) error {
	signal.Ignore(syscall.SIGXFSZ)
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	s, err := Open(path, Options{})
	if err != nil {
		return err
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 6 << 20, Max: limit.Max}); err != nil {
		return err
	}
	for full := 0; full < 3; { // goes on asking after the first refusal
		made, err := photoSize(s)
		if err != nil {
			fmt.Println("refused:", err)
			full++
			continue
		}
		fmt.Println(made)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	if err := s.Verify().Err(); err != nil {
		return fmt.Errorf("verify: %w", err)
	}
	made, err := pair(s)
	fmt.Println(made)
	return errors.Join(err, s.Close())
}

// photoSize stores a pair with a note of a megabyte.
func photoSize(s *Store) (made vent.ID, err error) {
	err = s.Update(stamp(0), func(tx *Tx) error {
		p := vent.Person{ID: tx.NewID(), Name: "Ida Lund"}
		made = tx.NewID()
		c := customer(made, p.ID)
		c.Note = strings.Repeat("lint ", 1<<18)
		return errors.Join(Persons.Put(tx, p, "made"), Customers.Put(tx, c, "made"))
	})
	return made, err
}
