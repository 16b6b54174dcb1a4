package estimate

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
)

// stream runs lines through and gives the answers, the refusals and the count.
func stream(t testing.TB, in io.Reader, inPlace bool) (out string, bad []LineError, n Count) {
	t.Helper()
	var b bytes.Buffer
	n, err := Stream(context.Background(), *options(), in, &b, inPlace, func(x LineError) { bad = append(bad, x) })
	if err != nil {
		t.Fatal(err)
	}
	return b.String(), bad, n
}

const plainLine = `{"id":%d,"run":{"duct_length":"25 ft","elbows_90":2},"dryer":{"fuel":"electric"}}` + "\n"

// TestStreamKeepsOrder: thousands of lines over all processors come out in order, the bad ones under their numbers.
func TestStreamKeepsOrder(t *testing.T) {
	const lines = 3000
	var in strings.Builder
	in.WriteString("\xef\xbb\xbf")
	for i := 1; i <= lines; i++ {
		switch {
		case i%7 == 0:
			in.WriteString("\n") // an empty line counts, but says nothing
		case i%5 == 0:
			fmt.Fprintf(&in, "{\"id\":%d,\"nonsense\":1}\r\n", i)
		default:
			fmt.Fprintf(&in, plainLine, i)
		}
	}
	for _, inPlace := range []bool{false, true} {
		out, bad, n := stream(t, strings.NewReader(in.String()), inPlace)
		rows := strings.Split(strings.TrimSpace(out), "\n")
		next, badNext := 0, 0
		for i := 1; i <= lines; i++ {
			isBad := i%7 != 0 && i%5 == 0
			if isBad {
				if bad[badNext].Line != i || bad[badNext].ID != fmt.Sprint(i) || !strings.Contains(bad[badNext].Error, "nonsense") {
					t.Fatalf("refusal %d is %+v, want line %d", badNext, bad[badNext], i)
				}
				badNext++
			}
			if i%7 == 0 || isBad && !inPlace {
				continue
			}
			var got struct {
				Line  int
				ID    string
				Error string
			}
			if err := json.Unmarshal([]byte(rows[next]), &got); err != nil {
				t.Fatal(err)
			}
			if got.Line != i || got.ID != fmt.Sprint(i) || (got.Error != "") != isBad {
				t.Fatalf("row %d is %s, want line %d", next, rows[next], i)
			}
			next++
		}
		if next != len(rows) || badNext != len(bad) || n.Bad != badNext || n.Lines != lines-lines/7 {
			t.Errorf("%d of %d rows, %d of %d refusals, %+v", next, len(rows), badNext, len(bad), n)
		}
	}
}

// repeat gives the same bytes again and again, and counts them.
type repeat struct {
	text  string
	left  int
	rest  string
	given int
}

func (r *repeat) Read(b []byte) (n int, err error) {
	for n < len(b) {
		if r.rest == "" {
			if r.left == 0 {
				break
			}
			r.rest = r.text
			r.left--
		}
		c := copy(b[n:], r.rest)
		r.rest = r.rest[c:]
		n += c
	}
	if r.given += n; n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// TestHostileLines: a line of 100 MB, one nested a hundred thousand deep, noise and half a line cost themselves alone.
func TestHostileLines(t *testing.T) {
	good := fmt.Sprintf(plainLine, 1)
	in := io.MultiReader(
		strings.NewReader(good),
		&repeat{text: strings.Repeat("x", 1000), left: 100_000}, strings.NewReader("\n"),
		strings.NewReader(good),
		strings.NewReader(strings.Repeat("[", 100_000)+strings.Repeat("]", 100_000)+"\n"),
		strings.NewReader(`{"run":`+strings.Repeat(`{"route":`, 5000)+"1"+strings.Repeat("}", 5001)+"\n"),
		strings.NewReader("\x00\xff\xfe\n"),
		strings.NewReader(`{"dryer":{"fuel":"electric"},"findings":[`+strings.Repeat(`{"date":"2024-01-01","outcome":"full"},`, 1000)+`{}]}`+"\n"),
		strings.NewReader(good),
		strings.NewReader(strings.TrimSuffix(good, "\n")[:40]),
	)
	out, bad, n := stream(t, in, false)
	if got := strings.Count(out, "\n"); got != 3 || n.Lines != 9 {
		t.Errorf("%d answers, %+v", got, n)
	}
	want := []struct {
		line int
		says string
	}{{2, "longer than"}, {4, "not JSON"}, {5, "run.route"}, {6, "not UTF-8"}, {7, "more than 400"}, {9, "not JSON"}}
	if len(bad) != len(want) {
		t.Fatalf("%+v", bad)
	}
	for i, w := range want {
		if bad[i].Line != w.line || !strings.Contains(bad[i].Error, w.says) || len(bad[i].Error) > 5000 {
			t.Errorf("%+v, want line %d with %q", bad[i], w.line, w.says)
		}
	}
}

// gate is a writer that waits until it is opened.
type gate struct {
	open chan struct{}
	n    int
}

func (g *gate) Write(b []byte) (int, error) {
	<-g.open
	g.n += len(b)
	return len(b), nil
}

// TestStreamWaitsForItsReader: while nobody takes the answers, only a bounded part of the input is read. So memory does not
// grow with the input.
func TestStreamWaitsForItsReader(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := &repeat{text: "{\"nonsense\":1}\n", left: 10_000_000}
		out := &gate{open: make(chan struct{})}
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error)
		go func() {
			_, err := Stream(ctx, *options(), in, out, true, func(LineError) {})
			done <- err
		}()
		synctest.Wait()
		batches := 2*runtime.GOMAXPROCS(0) + 4
		if most := batches*batchLines*len(in.text) + 64<<10; in.given == 0 || in.given > most {
			t.Errorf("%d bytes were read while nobody took an answer, at most %d are bounded", in.given, most)
		}
		stop()
		close(out.open)
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	})
}

// TestAnswersComeAtOnce: who writes a line and waits gets its answer before the next line.
func TestAnswersComeAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in, feed := io.Pipe()
		answers, out := io.Pipe()
		done := make(chan error)
		go func() {
			_, err := Stream(t.Context(), *options(), in, out, false, func(LineError) {})
			done <- errors.Join(err, out.Close())
		}()
		lines := bufio.NewScanner(answers)
		for i := range 3 {
			fmt.Fprintf(feed, plainLine, i)
			if !lines.Scan() || !strings.Contains(lines.Text(), fmt.Sprintf(`"id":"%d"`, i)) {
				t.Errorf("answer %d: %q %v", i, lines.Text(), lines.Err())
			}
		}
		_ = feed.Close()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
}

// TestStreamEnds: a cancelled stream ends although its input hangs; a writer's or reader's error is its error.
func TestStreamEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in, feed := io.Pipe()
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error)
		go func() {
			_, err := Stream(ctx, *options(), in, io.Discard, false, func(LineError) {})
			done <- err
		}()
		synctest.Wait()
		stop()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
		_ = feed.Close() // lets the reader go
	})
	full := errors.New("no space")
	_, err := Stream(t.Context(), *options(), strings.NewReader(fmt.Sprintf(plainLine, 1)), failing{full}, false, func(LineError) {})
	if !errors.Is(err, full) {
		t.Error(err)
	}
	_, err = Stream(t.Context(), *options(), io.MultiReader(strings.NewReader(fmt.Sprintf(plainLine, 1)), failing{full}), io.Discard, false, func(LineError) {})
	if !errors.Is(err, full) {
		t.Error(err)
	}
}

// failing fails at everything.
type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }
func (f failing) Read([]byte) (int, error)  { return 0, f.err }
