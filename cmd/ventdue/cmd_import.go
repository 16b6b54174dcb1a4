package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/vent"
)

// importArgs travel beside the file's bytes.
type importArgs struct {
	Name          string          `json:"name"`
	Format        intake.Format   `json:"format,omitempty"`
	Units         vent.UnitSystem `json:"units,omitempty"`
	Sheet         string          `json:"sheet,omitempty"`
	Today         vent.Date       `json:"today,omitzero"`
	Check         bool            `json:"check,omitempty"`
	KeepGood      bool            `json:"keep_good,omitempty"`
	IgnoreUnknown bool            `json:"ignore_unknown,omitempty"`
}

func (h *house) askImport(ctx context.Context, r call.Request, a importArgs) (desk.ImportReport, error) {
	return h.desk.Import(ctx, by(r), desk.Source{Name: a.Name, Format: a.Format, Reader: r.In}, desk.ImportOptions{
		Units: a.Units, Sheet: a.Sheet, Today: a.Today, Check: a.Check, KeepGood: a.KeepGood, IgnoreUnknown: a.IgnoreUnknown})
}

func (a *app) importCmd() *cobra.Command {
	var args importArgs
	var asJSON, columns bool
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Bring in customers, buildings, dryers and runs from a csv, xlsx or jsonl file",
		Long: `Bring in a file: one row per vent run with its site, unit, customer, dryer and last cleaning; or an export.

Every row is checked first. If any has a problem, nothing is stored and all problems are listed with row, column, value
and remedy; --keep-good stores the good rows all the same. Importing a file twice changes nothing. A record is found
by your own key in a *_ref column, or by its names. The columns: ventdue import --columns`,
		Example: "  ventdue import fleet.csv --check\n  ventdue import fleet.xlsx --units si\n  ventdue export --to old.jsonl && ventdue --data /elsewhere import old.jsonl",
		Args: func(_ *cobra.Command, files []string) error {
			if len(files) != 1 && !columns {
				return usage("which file? ventdue import FILE (\"-\" reads standard input)")
			}
			return nil
		},
		RunE: func(c *cobra.Command, files []string) error {
			if columns {
				return a.printColumns(asJSON)
			}
			return a.bringIn(c, files[0], args, asJSON)
		},
	}
	s := c.Flags()
	s.BoolVar(&args.Check, "check", false, "say what would change, and change nothing")
	s.BoolVar(&args.KeepGood, "keep-good", false, "store the good rows although others have problems")
	s.BoolVar(&args.IgnoreUnknown, "ignore-unknown", false, "pass over columns that are not known")
	s.StringVar((*string)(&args.Units), "units", "", "unit system of plain numbers: us or si (default: the operator's)")
	s.StringVar(&args.Sheet, "sheet", "", "sheet of an xlsx file (default: the first)")
	s.StringVar((*string)(&args.Format), "format", "", "csv, xlsx or jsonl (default: from the name)")
	dateFlag(c, &args.Today, "today", "the day on which this is known (default: today)")
	s.BoolVar(&columns, "columns", false, "list the columns and what they mean")
	s.BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) bringIn(c *cobra.Command, name string, args importArgs, asJSON bool) error {
	if args.Units != "" && args.Units != vent.US && args.Units != vent.SI {
		return usage("--units %q: use us or si", args.Units)
	}
	in, size, err := a.openFile(name)
	if err != nil {
		return err
	}
	defer in.Close()
	args.Name = filepath.Base(name)
	return a.with(c, func(ctx context.Context, o call.Office) error {
		bar := a.progress(size, args.Name)
		got, err := call.Ask[desk.ImportReport](ctx, o, opImport, args, io.TeeReader(in, bar))
		_ = bar.Finish()
		if err != nil {
			return err
		}
		if asJSON {
			if err := printJSON(a.Out, got); err != nil {
				return err
			}
		} else if err := a.printImported(got, args); err != nil {
			return err
		}
		if got.Bad > 0 || got.Problems.Len() > 0 {
			return errors.New(verdict(got, args))
		}
		return nil
	})
}

func (a *app) openFile(name string) (io.ReadCloser, int64, error) {
	if name == "-" {
		return io.NopCloser(a.In), -1, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, 0, err
	}
	info, err := f.Stat()
	if err != nil || info.IsDir() {
		_ = f.Close()
		return nil, 0, errors.Join(err, fmt.Errorf("%s is no file", name))
	}
	return f, info.Size(), nil
}

// progress draws a bar on a terminal, and nothing elsewhere.
func (a *app) progress(size int64, name string) *progressbar.ProgressBar {
	out := io.Discard
	if f, ok := a.Err.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		out = f
	}
	return progressbar.NewOptions64(size, progressbar.OptionSetWriter(out), progressbar.OptionSetDescription(name),
		progressbar.OptionShowBytes(true), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100_000_000))
}

func verdict(r desk.ImportReport, args importArgs) string {
	rows := fmt.Sprintf("%d rows have problems", r.Rows)
	switch {
	case r.Rows == 0:
		return "the file cannot be taken; nothing was changed"
	case r.Bad == 0: // the problems are the file's as a whole
		return fmt.Sprintf("the file has %s; nothing was changed", count(r.Problems.Len(), "problem"))
	case args.Check:
		return fmt.Sprintf("%d of %s; nothing was changed, this was a check", r.Bad, rows)
	case r.Stored:
		return fmt.Sprintf("%d of %s and were left out", r.Bad, rows)
	}
	return fmt.Sprintf("%d of %s; nothing was stored: mend them, or take the good rows with --keep-good", r.Bad, rows)
}

// count says how many things there are: "1 row", "2 rows".
func count(n int, thing string) string {
	if n != 1 {
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}

func (a *app) printImported(r desk.ImportReport, args importArgs) error {
	b := &strings.Builder{}
	for _, x := range r.Problems.Listed {
		fmt.Fprintln(b, plain(x.String()))
	}
	if r.Problems.More > 0 {
		fmt.Fprintf(b, "and %d more problems\n", r.Problems.More)
	}
	if r.Rows > 0 && (r.Problems.Len() == 0 || r.Stored || args.Check) {
		would := ""
		if args.Check {
			would = "would be "
		}
		fmt.Fprintf(b, "%s read.\n", count(r.Rows, "row"))
		kinds := make([]vent.Kind, 0, len(r.Records))
		for k := range r.Records {
			kinds = append(kinds, k)
		}
		slices.Sort(kinds)
		for _, k := range kinds {
			t := r.Records[k]
			fmt.Fprintf(b, "  %-10s %d %snew, %d %schanged, %d as they were\n", k, t.New, would, t.Changed, would, t.Unchanged)
		}
		if r.Stored && !r.Dump { // a check computes no dates
			fmt.Fprintf(b, "  %-10s %d opened, %d moved, %d closed\n", "due", r.Dues.Opened, r.Dues.Moved, r.Dues.Closed)
			fmt.Fprintf(b, "People who will be written to now because of it: %d.\n", r.Told)
		}
	}
	if r.Stored && r.Bad == 0 {
		fmt.Fprintln(b, "See them with: ventdue due")
	}
	_, err := io.WriteString(a.Out, b.String())
	return err
}

func (a *app) printColumns(asJSON bool) error {
	if asJSON {
		return printJSON(a.Out, columnDocs())
	}
	t := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "COLUMN\tHOLDS\tUNIT (us / si)\tEXAMPLE\tMEANING")
	for _, c := range columnDocs() {
		unit := ""
		if c.US != "" {
			unit = c.US + " / " + c.SI
		}
		name := c.Name
		if c.Required {
			name += " *"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", name, c.Form, unit, c.Example, c.Meaning)
	}
	fmt.Fprintln(t, "\n* needed in every row that does not name a stored record by its *_ref")
	return t.Flush()
}

// columnDoc is one import column as it is documented.
type columnDoc struct {
	Name     string `json:"name"`
	Form     string `json:"holds"`
	US       string `json:"unit_us,omitempty"`
	SI       string `json:"unit_si,omitempty"`
	Example  string `json:"example,omitempty"`
	Meaning  string `json:"meaning"`
	Required bool   `json:"required,omitempty"`
}

func columnDocs() (all []columnDoc) {
	for _, c := range intake.Columns() {
		all = append(all, columnDoc{c.Name, c.Form(), c.Unit(vent.US), c.Unit(vent.SI), c.Example, c.Meaning, c.Required})
	}
	return all
}

func (a *app) exportCmd() *cobra.Command {
	var to string
	c := &cobra.Command{
		Use: "export", Short: "Write everything as JSON lines", Args: exactly(),
		Long: "Write every record as one line of JSON, with ids, calendar UIDs, sequences and what people were told. Importing it into an empty\ninstallation gives the same one: no calendar entry is doubled and no message is sent again.",
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				if to == "" || to == "-" {
					return o.Call(ctx, opExport, noArgs{}, nil, a.Out)
				}
				return writeWhole(to, func(w io.Writer) error { return o.Call(ctx, opExport, noArgs{}, nil, w) })
			})
		},
	}
	c.Flags().StringVar(&to, "to", "", "file to write (default: standard output)")
	return c
}

// writeWhole makes a file that is there only when all of it is.
func writeWhole(name string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".export-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
