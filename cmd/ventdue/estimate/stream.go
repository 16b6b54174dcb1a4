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
	"sync"
)

// Bounds of the stream. Memory is at most (2 workers + 2) batches, each of batchBytes and one line more.
const (
	maxLine    = 1 << 20
	batchBytes = 256 << 10
	batchLines = 256
)

// LineError is a line that was refused.
type LineError struct {
	Line  int    `json:"line"`
	ID    string `json:"id,omitempty"`
	Error string `json:"error"`
}

// Count is what a stream came to.
type Count struct{ Lines, Bad int }

// batch is a run of whole lines on its way.
type batch struct {
	data   []byte
	lines  []span
	out    bytes.Buffer
	errors []LineError
	done   chan struct{}
}

// span is one line of a batch; long says that it was longer than maxLine and is not kept.
type span struct {
	from, to, number int
	long             bool
}

// Stream answers every line of in by a line on out, in the order of the input, working on all processors and in memory that
// does not grow with the input. Empty lines are passed over. bad is told of every refused line, in order; where
// inPlace is set, the refusal also stands on out in the place of the answer. The error is that of reading, writing or ctx.
func Stream(ctx context.Context, o Options, in io.Reader, out io.Writer, inPlace bool, bad func(LineError)) (Count, error) {
	if err := o.Validate(); err != nil {
		return Count{}, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	workers := runtime.GOMAXPROCS(0)
	work := make(chan *batch, workers)
	queue := make(chan *batch, workers) // the same batches in the order of the input
	read := make(chan error, 1)
	// The reader is not waited for: it may hang in a read of the terminal that nobody ends. It touches nothing afterwards.
	go func() {
		err := split(in, func() *batch { return &batch{done: make(chan struct{})} }, func(b *batch) bool {
			select {
			case queue <- b:
			case <-ctx.Done():
				return false
			}
			select {
			case work <- b:
			case <-ctx.Done():
				return false
			}
			return true
		})
		close(work)
		read <- err
		close(queue)
	}()
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for {
				select {
				case b, ok := <-work:
					if !ok {
						return
					}
					b.answer(&o, inPlace)
					close(b.done)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	n, err := write(ctx, queue, out, bad)
	stop()
	all.Wait()
	if err == nil {
		err = <-read
	}
	return n, err
}

// split cuts the input into batches of whole lines. A batch goes on its way when it is full or the input has nothing more
// to give at once, so that somebody who types gets an answer line by line.
func split(in io.Reader, fresh func() *batch, send func(*batch) bool) error {
	r := bufio.NewReaderSize(in, 64<<10)
	b := fresh()
	for number := 1; ; number++ {
		from := len(b.data)
		long, err := b.readLine(r)
		if number == 1 {
			b.data = bytes.TrimPrefix(b.data, []byte("\xef\xbb\xbf"))
		}
		if len(bytes.TrimSpace(b.data[from:])) > 0 || long {
			b.lines = append(b.lines, span{from, len(b.data), number, long})
		} else {
			b.data = b.data[:from]
		}
		full := len(b.data) >= batchBytes || len(b.lines) == batchLines
		if len(b.lines) > 0 && (full || err != nil || r.Buffered() == 0) {
			if !send(b) {
				return nil
			}
			b = fresh()
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read line %d: %w", number, err)
		}
	}
}

// readLine adds one line to the batch. Of a line that is too long nothing is kept.
func (b *batch) readLine(r *bufio.Reader) (long bool, err error) {
	from := len(b.data)
	for {
		piece, err := r.ReadSlice('\n')
		if long = long || len(b.data)-from+len(piece) > maxLine; long {
			b.data = b.data[:from]
		} else {
			b.data = append(b.data, piece...)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return long, err
		}
	}
}

// answer works on the lines of a batch.
func (b *batch) answer(o *Options, inPlace bool) {
	e := json.NewEncoder(&b.out)
	e.SetEscapeHTML(false)
	for _, s := range b.lines {
		var a Answer
		err := fmt.Errorf("the line is longer than %d bytes: write one run per line", maxLine)
		if !s.long {
			a, err = One(o, bytes.TrimSpace(b.data[s.from:s.to]))
		}
		a.Line = s.number
		mark := b.out.Len()
		if err == nil {
			err = e.Encode(a)
		}
		if err == nil {
			continue
		}
		b.out.Truncate(mark)
		bad := LineError{s.number, a.ID, err.Error()}
		b.errors = append(b.errors, bad)
		if inPlace {
			_ = e.Encode(bad) // texts alone: it cannot fail
		}
	}
}

// write gives out what the workers made, in order. What it wrote is flushed whenever nothing else waits.
func write(ctx context.Context, queue <-chan *batch, out io.Writer, bad func(LineError)) (n Count, err error) {
	w := bufio.NewWriterSize(out, 64<<10)
	for {
		select {
		case b, ok := <-queue:
			if !ok {
				return n, w.Flush()
			}
			select {
			case <-b.done:
			case <-ctx.Done():
				return n, ctx.Err()
			}
			n.Lines += len(b.lines)
			n.Bad += len(b.errors)
			if _, err := w.Write(b.out.Bytes()); err != nil {
				return n, err
			}
			if len(queue) == 0 {
				if err := w.Flush(); err != nil {
					return n, err
				}
			}
			for _, x := range b.errors {
				bad(x)
			}
		case <-ctx.Done():
			return n, errors.Join(ctx.Err(), w.Flush())
		}
	}
}
