package desk

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// exportFormat is the kind of an export's first line, exportVersion its version, exportEnd the kind of its last line.
const (
	exportFormat  = "ventdue_export"
	exportVersion = 1
	exportEnd     = "ventdue_export_end"
)

// exportHead is the first line of an export. It says nothing of when or by whom, so that an export of an import of an
// export is the same file.
type exportHead struct {
	Kind    vent.Kind `json:"kind"`
	Version int       `json:"version"`
}

// exportLine is one record of an export.
type exportLine struct {
	Kind   vent.Kind       `json:"kind"`
	Record json.RawMessage `json:"record"`
}

// exportTail is the last line of an export: a file that was cut between two lines lacks it.
type exportTail struct {
	Kind    vent.Kind `json:"kind"`
	Records int       `json:"records"`
	SHA256  string    `json:"sha256"` // of the records' lines, each with one line feed, in hexadecimal
}

// Export writes everything that is stored as JSON lines: a head, then one record a line with its id, UID, sequence
// and keys, then a line with their number and check sum. What is named comes before what names it. The key that signs links and the calendar addresses themselves are
// not in it. The writer must not be slow (a network): the snapshot stays open while it writes.
func (d *Desk) Export(w io.Writer) error {
	out := bufio.NewWriterSize(w, 256<<10)
	sum, records := sha256.New(), 0
	ends, enc := json.NewEncoder(out), json.NewEncoder(io.MultiWriter(out, sum))
	enc.SetEscapeHTML(false)
	err := ends.Encode(exportHead{exportFormat, exportVersion})
	if err == nil {
		err = d.store.View(func(tx *store.Tx) error {
			return store.Dump(tx, func(kind vent.Kind, data []byte) error {
				records++
				return enc.Encode(exportLine{kind, data})
			})
		})
	}
	if err == nil {
		err = ends.Encode(exportTail{exportEnd, records, hex.EncodeToString(sum.Sum(nil))})
	}
	if err == nil {
		err = out.Flush()
	}
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	return nil
}

// dumped is one line of an export that was read.
type dumped struct {
	line   int
	kind   vent.Kind
	record json.RawMessage
}

// noHead is the line of a head that is not one.
const noHead = -1

// keepRecord takes one line of an export.
func (f *file) keepRecord(r intake.Record) error {
	var x struct {
		Kind    vent.Kind       `json:"kind"`
		Version int             `json:"version"`
		Record  json.RawMessage `json:"record"`
		Records int             `json:"records"`
		SHA256  string          `json:"sha256"`
	}
	d := json.NewDecoder(bytes.NewReader(r.JSON))
	d.DisallowUnknownFields()
	bad := func(column, value, what, remedy string) error {
		f.report.Problems.Add(intake.Problem{Row: r.Line, Column: column, Value: value, What: what, Remedy: remedy})
		return nil
	}
	err := d.Decode(&x)
	if err == nil {
		if _, more := d.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("something follows the object")
		}
	}
	if f.head == 0 {
		f.head = r.Line
		if err != nil || x.Kind != exportFormat || x.Version != exportVersion {
			f.head = noHead
			f.report.Problems.Add(intake.Problem{What: fmt.Sprintf("the first line of an export must be {\"kind\":%q,\"version\":%d}", exportFormat, exportVersion),
				Remedy: "import the whole export as it was written, with a program that is not older than the one that wrote it"})
		}
		return nil
	}
	switch {
	case f.tail != nil:
		return bad("", "", "the line follows the export's last one", "import one export at a time, as it was written")
	case err == nil && x.Kind == exportEnd:
		f.tail = &exportTail{x.Kind, x.Records, x.SHA256}
		return nil
	}
	f.records++
	f.sum.Write(r.JSON)
	f.sum.Write([]byte("\n"))
	switch {
	case err != nil:
		return bad("", "", "the line is not a record of an export: "+err.Error(), "import the export as it was written")
	case len(x.Record) == 0:
		return bad("record", "", "is missing", "import the export as it was written")
	}
	f.dump = append(f.dump, dumped{r.Line, x.Kind, bytes.Clone(x.Record)})
	return nil
}

// whole notes what is missing of an export or was changed in it. Such a file is refused as a whole: records that are not
// there cannot be told from records that never were.
func (f *file) whole() {
	if f.head == noHead {
		return // that is said already
	}
	remedy := "copy the whole file again, or write the export anew"
	switch t := f.tail; {
	case t == nil:
		f.report.Problems.Add(intake.Problem{What: fmt.Sprintf("the export ends too early: after %d records its last line, {\"kind\":%q,...}, is missing", f.records, exportEnd), Remedy: remedy})
	case t.Records != f.records:
		f.report.Problems.Add(intake.Problem{What: fmt.Sprintf("the export has %d records, its last line says %d", f.records, t.Records), Remedy: remedy})
	case t.SHA256 != hex.EncodeToString(f.sum.Sum(nil)):
		f.report.Problems.Add(intake.Problem{What: "the records are not as they were written: their check sum differs from that of the export's last line", Remedy: remedy})
	}
}

// load puts an export's records as they are. Those that are there and say the same change nothing; a differing one is a
// problem of its line. Nothing is planned and nobody is told anything: dues, notices and messages are among the records.
func (d *Desk) load(ctx context.Context, f *file) error {
	f.report.Rows = f.records // the head and the last line are none
	f.whole()
	start := f.report
	var report ImportReport
	err := d.store.Bulk(f.by, func(tx *store.Tx) error {
		report = start
		report.Records = map[vent.Kind]Tally{}
		report.Problems.Listed = append([]intake.Problem(nil), start.Problems.Listed...)
		if err := f.loadAll(ctx, tx, &report); err != nil {
			return err
		}
		if f.o.Check || f.stops(report) {
			return errKeepNothing
		}
		f.o.Progress(PhaseKeep, 0, 0, 0)
		return nil
	})
	f.report = report
	f.report.Stored = err == nil
	if errors.Is(err, errKeepNothing) {
		return nil
	}
	return err
}

// errKeepNothing takes back what a transaction has written: it was only to see what would happen.
var errKeepNothing = errors.New("keep nothing")

func (f *file) loadAll(ctx context.Context, tx *store.Tx, report *ImportReport) error {
	for i, x := range f.dump {
		if i%500 == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			f.o.Progress(PhaseWrite, i, len(f.dump), 0)
		}
		changed, err := store.Load(tx, x.kind, x.record)
		if errors.Is(err, vent.ErrConflict) || errors.Is(err, vent.ErrInvalid) {
			report.Bad++
			report.Problems.Add(intake.Problem{Row: x.line, Column: string(x.kind), What: err.Error(),
				Remedy: "import into an empty installation"})
			continue
		}
		if err != nil {
			return fmt.Errorf("line %d: %w", x.line, err)
		}
		t := report.Records[x.kind]
		if changed {
			t.New++
		} else {
			t.Unchanged++
		}
		report.Records[x.kind] = t
	}
	return nil
}
