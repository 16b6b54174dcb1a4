package intake

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync/atomic"

	"ventdue/vent"
)

// Format is the form of a file.
type Format string

// The formats.
const (
	CSV   Format = "csv"
	XLSX  Format = "xlsx"
	JSONL Format = "jsonl" // one JSON object per line; also the form of an export
)

// Source is a file to read.
type Source struct {
	// Name is the file's name, for messages; its ending tells the format.
	Name string
	// Format is the form; "" tells it from content and name.
	Format Format
	Reader io.Reader
}

// Options are the choices of a reading.
type Options struct {
	// Units is the system of plain numbers; "" is US.
	Units vent.UnitSystem
	// Sheet names the sheet of an xlsx file; "" is the first.
	Sheet string
	// IgnoreUnknown skips columns that are not documented instead of refusing them.
	IgnoreUnknown bool
	// OwnBuildings says that the operator is the customer where a file names none.
	OwnBuildings bool
	// Mended are cells that were put right since the file was written.
	Mended []Mend
	// Progress is told now and then how many rows and bytes were read; nil: nobody is.
	Progress func(rows int, bytes int64)
}

// Record is one line of an export: a stored record as it is.
type Record struct {
	Line int
	JSON []byte // the whole line; valid until the sink returns
}

// Sink takes what is read. An error that it returns ends the reading.
type Sink struct {
	// Row takes a row that has no problem of its own.
	Row func(Row) error
	// Bad takes what could be read of a row that has a problem of its own; nil: nobody wants it.
	Bad func(Row)
	// Record takes a line of an export; nil refuses exports.
	Record func(Record) error
}

// Summary counts what was read.
type Summary struct {
	Rows int  // rows or records, good and bad, the header not counted
	Bad  int  // rows that had a problem and were not handed on
	Dump bool // the file is an export
}

// The bounds of what is read from a file.
const (
	maxRecord  = 1 << 20   // bytes of one row of a csv
	maxLine    = 16 << 20  // bytes of one line of a jsonl: a stored record is at most 4 MiB of CBOR
	maxColumns = 1000      // columns of a header
	maxPacked  = 64 << 20  // bytes of an xlsx file
	maxPlain   = 512 << 20 // bytes of an xlsx file, unpacked
	tellEvery  = 500       // rows between two words of progress
)

// Read reads a file and hands its good rows to the sink. What is wrong in the file goes to p; the error is that of
// reading itself, of the sink, or of ctx.
func Read(ctx context.Context, src Source, o Options, p *Problems, sink Sink) (Summary, error) {
	if o.Units == "" {
		o.Units = vent.US
	}
	counted := &counter{r: src.Reader}
	in := bufio.NewReaderSize(counted, 64<<10)
	r := &reading{ctx: ctx, o: o, p: p, sink: sink, bytes: counted, mended: newMended(o.Mended)}
	format, err := formatOf(src, in)
	if err != nil {
		return r.sum, fmt.Errorf("read %s: %w", src.Name, err)
	}
	switch format {
	case XLSX:
		err = r.xlsx(in)
	case JSONL:
		err = r.jsonl(in)
	default:
		err = r.csv(in)
	}
	if err != nil {
		return r.sum, fmt.Errorf("read %s: %w", src.Name, err)
	}
	if o.Progress != nil {
		o.Progress(r.sum.Rows, counted.n.Load())
	}
	return r.sum, nil
}

// formatOf tells a file's format: as it was said, by its first bytes, by its name.
func formatOf(src Source, in *bufio.Reader) (Format, error) {
	if src.Format != "" {
		return src.Format, nil
	}
	head, err := in.Peek(512)
	if err != nil && err != io.EOF {
		return "", err
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) {
		return XLSX, nil
	}
	switch strings.ToLower(filepath.Ext(src.Name)) {
	case ".csv", ".tsv", ".txt":
		return CSV, nil
	case ".xlsx", ".xlsm":
		return XLSX, nil
	case ".jsonl", ".ndjson", ".json":
		return JSONL, nil
	}
	if bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(head, []byte(bom))), []byte("{")) {
		return JSONL, nil
	}
	return CSV, nil
}

// reading is one file on its way in.
type reading struct {
	ctx    context.Context
	o      Options
	p      *Problems
	sink   Sink
	bytes  *counter
	sum    Summary
	mended mended
}

// parsed is one row on its way in, with what is wrong with it.
type parsed struct {
	row       Row
	ok, empty bool
	unread    bool // it could not even be taken apart
	problems  Problems
}

// enter notes what is wrong with a row and hands it on.
func (r *reading) enter(x parsed) error {
	r.p.append(x.problems)
	switch {
	case x.unread:
		r.sum.Rows++
		r.sum.Bad++
		return nil
	case x.empty:
		return nil
	}
	return r.hand(x.row, x.ok)
}

// take parses one row and hands it on.
func (r *reading) take(h *header, number int, texts []string) error {
	row, ok, empty := h.row(number, texts, r.o.Units, r.p)
	if empty {
		return nil
	}
	return r.hand(row, ok)
}

// hand counts a row and gives it to the sink when it is good.
func (r *reading) hand(row Row, ok bool) error {
	if err := r.count(); err != nil {
		return err
	}
	if !ok {
		r.sum.Bad++
		if r.sink.Bad != nil {
			r.sink.Bad(row)
		}
		return nil
	}
	return r.sink.Row(row)
}

// count counts a row or record and tells how far it got.
func (r *reading) count() error {
	if r.sum.Rows++; r.sum.Rows%tellEvery == 0 {
		if err := r.ctx.Err(); err != nil {
			return err
		}
		if r.o.Progress != nil {
			r.o.Progress(r.sum.Rows, r.bytes.n.Load())
		}
	}
	return nil
}

// anyRow refuses a file that ends with its header.
func (r *reading) anyRow(h *header) {
	if h != nil && r.sum.Rows == 0 {
		r.refuse("the file has a header but no rows", "write one row for each vent run below it")
	}
}

// refuse notes a problem of the whole file.
func (r *reading) refuse(what, remedy string) { r.p.Add(Problem{What: what, Remedy: remedy}) }

// counter counts the bytes that went through.
type counter struct {
	r io.Reader
	n atomic.Int64
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n.Add(int64(n))
	return n, err
}
