package desk

import (
	"context"
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"path/filepath"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// importSource is the source under which an imported last cleaning is kept: with run and day, its key.
const importSource = "import"

// Source is a file to import. Its name's ending, or its first bytes, tell the format: csv, xlsx or jsonl.
type Source struct {
	Name   string // "fleet.csv"; in the audit trail as well
	Format intake.Format
	Reader io.Reader
}

// Phase is where an import stands.
type Phase string

// The phases, in their order.
const (
	PhaseRead  Phase = "read"  // the file is read
	PhaseMatch Phase = "match" // its rows are matched with what is stored
	PhaseWrite Phase = "write" // records are written
	PhasePlan  Phase = "plan"  // the runs' dates are computed
	PhaseKeep  Phase = "keep"  // everything is put on disk
)

// Progress is told how far an import is: done of total (0: not known) rows or runs, and the bytes read of the file.
// A phase is told at its start, and again as it goes on.
type Progress func(phase Phase, done, total int, bytes int64)

// ImportOptions are the choices of an import.
type ImportOptions struct {
	Units vent.UnitSystem // of plain numbers; "" is the operator's
	Sheet string          // of an xlsx file; "" is the first
	// Today is the day at the sites: new facts are known from it, findings cannot be later. None: the day in the
	// operator's zone.
	Today    vent.Date
	Check    bool // change nothing, tell what would change
	KeepGood bool // import the good rows although others have problems
	// Rows refuses an export, which holds accounts and what else only whoever owns the installation may bring in.
	Rows          bool
	IgnoreUnknown bool          // skip columns that are not documented
	Mended        []intake.Mend // cells that were put right since the file was written
	Progress      Progress
}

// Tally counts what becomes of one noun's records.
type Tally struct {
	New       int `json:"new"`
	Changed   int `json:"changed"`
	Unchanged int `json:"unchanged"`
}

// ImportReport is what an import did, or would do.
type ImportReport struct {
	Rows     int                 `json:"rows"`              // rows of the file that were read
	Bad      int                 `json:"bad"`               // of these, refused
	Problems intake.Problems     `json:"problems,omitzero"` // all that is wrong, in the order of the rows
	Records  map[vent.Kind]Tally `json:"records"`
	Planned  int                 `json:"planned"` // runs whose dates were computed
	Queued   int                 `json:"queued"`  // other runs whose dates will be computed soon
	Dues     store.Changes       `json:"dues"`
	Told     int                 `json:"told"`   // people whom the import concerns and who have a mail coming now; 0 for a check or an export
	Stored   bool                `json:"stored"` // the file's good rows are stored now
	Dump     bool                `json:"dump"`   // the file was an export
}

// Any reports whether anything was, or would be, changed.
func (r ImportReport) Any() bool {
	for _, t := range r.Records {
		if t.New+t.Changed > 0 {
			return true
		}
	}
	return false
}

// Import takes a file of runs with their customers, sites, units, dryers and last cleanings (see intake.Columns), or an
// export.
//
// A record is found by the operator's own key in a *_ref column, else by its natural key (see intake.Sheet). Only
// filled cells change a record, so importing a file twice changes nothing. A last cleaning becomes a finding and is
// never overwritten.
//
// Everything is stored in one transaction, dates included, or, where any row has a problem, nothing at all, unless
// KeepGood says otherwise; problems are in the report, and the error is that of reading or storing.
func (d *Desk) Import(ctx context.Context, by By, src Source, o ImportOptions) (ImportReport, error) {
	f, err := d.file(by, src.Name, o)
	if err != nil {
		return ImportReport{}, fmt.Errorf("import %s: %w", src.Name, err)
	}
	if err := f.read(ctx, src); err != nil {
		return f.report, fmt.Errorf("import: %w", err)
	}
	if f.report.Dump {
		err = d.load(ctx, f)
	} else {
		err = d.importSheet(ctx, f)
	}
	if err != nil {
		return f.report, fmt.Errorf("import %s: %w", src.Name, err)
	}
	if f.report.Stored && f.report.Any() {
		d.kick(JobTell)
		d.kick(JobReplan)
	}
	return f.report, nil
}

// file prepares the reading of a file: what is not chosen is the operator's.
func (d *Desk) file(by By, name string, o ImportOptions) (*file, error) {
	us, err := d.Operator()
	if err != nil {
		return nil, err
	}
	if o.Units == "" {
		o.Units = us.Units
	}
	if o.Today == 0 {
		o.Today = vent.DateOf(by.Now.In(zoneOf(us.Zone)))
	}
	if o.Progress == nil {
		o.Progress = func(Phase, int, int, int64) {}
	}
	return &file{name: filepath.Base(name), o: o, us: us, by: by, sum: sha256.New()}, nil
}

// file is a file that was read, before anything of it is stored.
type file struct {
	name   string
	o      ImportOptions
	us     vent.Operator
	by     By
	sheet  *intake.Sheet
	report ImportReport

	// Of an export:
	dump    []dumped
	head    int // line of its head; 0: none yet
	tail    *exportTail
	records int       // lines between head and tail
	sum     hash.Hash // of these
}

func (f *file) read(ctx context.Context, src Source) error {
	f.o.Progress(PhaseRead, 0, 0, 0)
	problems := &f.report.Problems
	f.sheet = intake.NewSheet(problems)
	bytes := int64(0)
	clash := 0
	record := f.keepRecord
	if f.o.Rows {
		record = nil
	}
	sum, err := intake.Read(ctx, intake.Source{Name: f.name, Format: src.Format, Reader: src.Reader}, intake.Options{
		Units: f.o.Units, Sheet: f.o.Sheet, IgnoreUnknown: f.o.IgnoreUnknown, Mended: f.o.Mended, OwnBuildings: f.us.Kind != vent.Customers,
		Progress: func(rows int, n int64) { bytes = n; f.o.Progress(PhaseRead, rows, 0, n) },
	}, problems, intake.Sink{
		Row: func(r intake.Row) error {
			if !f.sheet.Add(r) {
				clash++
			}
			return nil
		},
		Bad:    f.sheet.Refuse,
		Record: record,
	})
	f.sheet.Settle()
	f.report.Rows, f.report.Bad, f.report.Dump = sum.Rows, sum.Bad+clash, sum.Dump
	f.o.Progress(PhaseRead, sum.Rows, sum.Rows, bytes)
	return err
}

// importSheet matches what the file says with what is stored, and stores it. Where nothing will be stored it is matched all
// the same: what is stored may show more problems, and all are told at once.
func (d *Desk) importSheet(ctx context.Context, f *file) error {
	if f.o.Check || f.stops(f.report) {
		return d.store.View(func(tx *store.Tx) error {
			m, err := f.match(ctx, d, tx)
			if err == nil {
				m.tally()
				f.report = m.report
			}
			return err
		})
	}
	report := f.report
	err := d.store.Bulk(f.by, func(tx *store.Tx) error {
		m, err := f.match(ctx, d, tx)
		if err != nil {
			return err
		}
		m.tally()
		if report = m.report; f.stops(report) {
			return nil
		}
		if err := m.write(); err != nil {
			return err
		}
		m.countTold()
		report = m.report
		f.o.Progress(PhaseKeep, 0, 0, 0)
		return nil
	})
	if err != nil {
		return err
	}
	f.report = report
	f.report.Stored = !f.stops(report)
	return nil
}

// stops reports whether the problems keep everything from being stored. A problem of the file as a whole always does.
func (f *file) stops(r ImportReport) bool {
	if r.Problems.Len() == 0 {
		return false
	}
	if !f.o.KeepGood {
		return true
	}
	for _, p := range r.Problems.Listed {
		if p.Row == 0 {
			return true
		}
	}
	return false
}
