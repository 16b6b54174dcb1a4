package intake

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"ventdue/vent"
)

// got is what a reading gave.
type got struct {
	rows     []Row
	problems Problems
	sum      Summary
}

func readFile(t testing.TB, src Source, o Options) got {
	t.Helper()
	var g got
	sum, err := Read(context.Background(), src, o, &g.problems, Sink{Row: func(r Row) error {
		g.rows = append(g.rows, r)
		return nil
	}})
	if err != nil {
		t.Fatalf("read %s: %v", src.Name, err)
	}
	g.sum = sum
	return g
}

func readText(t testing.TB, name, text string) got {
	t.Helper()
	return readFile(t, Source{Name: name, Reader: strings.NewReader(text)}, Options{})
}

func (g got) cell(t *testing.T, i int, column string) Cell {
	t.Helper()
	if i >= len(g.rows) {
		t.Fatalf("%d rows, wanted one more; problems: %v", len(g.rows), g.problems.Listed)
	}
	s := Said{Cells: g.rows[i].Cells}
	c := s.Cell(column)
	if c.Row == 0 {
		t.Fatalf("row %d has no %s", i, column)
	}
	return c
}

// wantProblem checks that exactly one problem is told and that it names all of want.
func (g got) wantProblem(t *testing.T, row int, column string, want ...string) {
	t.Helper()
	if g.problems.Len() != 1 {
		t.Fatalf("%d problems, want 1: %v", g.problems.Len(), g.problems.Listed)
	}
	p := g.problems.Listed[0]
	if p.Row != row || p.Column != column {
		t.Errorf("problem of row %d, column %q, want row %d, column %q: %s", p.Row, p.Column, row, column, p)
	}
	for _, w := range want {
		if !strings.Contains(p.String(), w) {
			t.Errorf("%q does not say %q", p, w)
		}
	}
	if p.Remedy == "" {
		t.Errorf("%q gives no remedy", p)
	}
}

const small = "customer_name,address,fuel,duct_length,last_cleaned\n"

func TestSeparatorsAndMarks(t *testing.T) {
	row := func(sep string) string { return strings.ReplaceAll("Ada|1 Elm Row|gas|25|2025-10-02", "|", sep) }
	head := func(sep string) string {
		return strings.ReplaceAll("customer_name|address|fuel|duct_length|last_cleaned", "|", sep)
	}
	for name, text := range map[string]string{
		"comma":         head(",") + "\n" + row(",") + "\n",
		"semicolon":     head(";") + "\n" + row(";") + "\n",
		"tab":           head("\t") + "\n" + row("\t") + "\n",
		"CRLF":          head(",") + "\r\n" + row(",") + "\r\n",
		"BOM":           "\xef\xbb\xbf" + head(",") + "\n" + row(",") + "\n",
		"sep= line":     "sep=;\r\n" + head(";") + "\r\n" + row(";") + "\r\n",
		"no last break": head(",") + "\n" + row(","),
		"quoted header": `"customer_name";"address";"fuel";"duct_length";"last_cleaned"` + "\n" + row(";"),
		"spoken header": "Customer Name,Address,FUEL,Duct length,last-cleaned\n" + row(","),
	} {
		t.Run(name, func(t *testing.T) {
			g := readText(t, "fleet.csv", text)
			if g.problems.Len() > 0 || len(g.rows) != 1 {
				t.Fatalf("%d rows, problems %v", len(g.rows), g.problems.Listed)
			}
			if c := g.cell(t, 0, "duct_length"); math.Abs(c.Value.Number-25*0.3048) > 1e-9 { // a foot is 0.3048 m by definition
				t.Errorf("25 ft read as %v m", c.Value.Number)
			}
			if c := g.cell(t, 0, "customer_name"); c.Value.Text != "Ada" || c.Row != 2 {
				t.Errorf("customer %q in row %d, want Ada in row 2", c.Value.Text, c.Row)
			}
		})
	}
}

func TestRowNumbersAreTheSpreadsheets(t *testing.T) {
	// Row 2 has a break inside quotes (two lines, one row), row 3 is empty, row 4 is bad.
	text := small + "Ada,\"1 Elm Row\nSpringfield\",gas,25,2025-10-02\n\nBea,2 Elm Row,wood,25,2025-10-02\n"
	readText(t, "fleet.csv", text).wantProblem(t, 4, "fuel", `"wood"`, "electric, gas, ventless")
}

func TestBadCells(t *testing.T) {
	for name, x := range map[string]struct {
		header, cell string
		says         []string
	}{
		"day or month first":    {"last_cleaned", "03/04/2026", []string{"2026-03-04 or 2026-04-03", "whichever is meant"}},
		"one reading":           {"last_cleaned", "13.04.2026", []string{"write 2026-04-13"}},
		"month in words":        {"last_cleaned", "4 March 2026", []string{"write 2026-03-04"}},
		"with a time":           {"last_cleaned", "2026-03-04 00:00:00", []string{"write 2026-03-04"}},
		"no such day":           {"last_cleaned", "2025-02-29", []string{"YYYY-MM-DD"}},
		"serial without format": {"last_cleaned", "45993", []string{"write 2025-12-02"}}, // 45658 is 2025-01-01; +335 days
		"unit of other things":  {"duct_length", "25 kg", []string{`unknown unit "kg"`, "35 ft"}},
		"thousands or decimals": {"duct_length", "1,250", []string{"comma"}},
		"negative length":       {"duct_length", "-3", []string{"negative"}},
		"not a number":          {"bedrooms", "NaN", []string{"0 to 50"}},
		"half a bedroom":        {"bedrooms", "2.5", []string{"not a whole number"}},
		"too many":              {"elbows_90", "1000", []string{"0 to 50"}},
		"hexadecimal":           {"lat", "0x10", []string{"not a number"}},
		"infinite":              {"loads_per_week", "Inf", []string{"not a number"}},
		"north pole and more":   {"lat", "91", []string{"-90 to 90"}},
		"neither yes nor no":    {"pets", "maybe", []string{"yes or no"}},
		"near miss":             {"fuel", "electrik", []string{"did you mean electric"}},
		"failed formula":        {"note", "#REF!", []string{"formula"}},
		"control character":     {"note", "a\x07b", []string{"0x07"}},
		"NUL":                   {"note", "a\x00b", []string{"0x00"}},
		"not UTF-8":             {"customer_name", "Zo\xeb", []string{"UTF-8"}},
		"two lines in a name":   {"site_name", "\"a\nb\"", []string{"one line"}},
		"longer than a note":    {"note", strings.Repeat("x", 4001), []string{"4001 bytes", "4000"}},
	} {
		t.Run(name, func(t *testing.T) {
			cells := map[string]string{"customer_name": "Ada", "fuel": "gas"}
			cells[x.header] = x.cell
			header, row := "customer_name,fuel", cells["customer_name"]+","+cells["fuel"]
			if x.header != "customer_name" && x.header != "fuel" {
				header, row = header+","+x.header, row+","+quoted(x.cell)
			}
			readText(t, "fleet.csv", header+"\n"+row+"\n").wantProblem(t, 2, x.header, x.says...)
		})
	}
}

func quoted(s string) string {
	if strings.HasPrefix(s, `"`) {
		return s
	}
	return `"` + s + `"`
}

func TestUnits(t *testing.T) {
	// A foot is 0.3048 m, an inch 0.0254 m, exactly; 1 in w.c. is 249.0889 Pa (NIST SP 811, appendix B).
	for _, x := range []struct {
		column, cell string
		units        vent.UnitSystem
		want         float64
	}{
		{"duct_length", "35", vent.US, 10.668}, {"duct_length", "10.7", vent.SI, 10.7},
		{"duct_length", "35 ft", vent.SI, 10.668}, {"duct_length", "10.7 m", vent.US, 10.7},
		{"duct_length", "17 ft 6 in", vent.US, 5.334}, {"duct_length", "2 1/2", vent.US, 0.762},
		{"duct_length", "3,5", vent.SI, 3.5},
		{"duct_diameter", "4", vent.US, 0.1016}, {"duct_diameter", "100", vent.SI, 0.1}, {"duct_diameter", `4"`, vent.SI, 0.1016},
		{"speed_after", "1250", vent.US, 6.35}, {"speed_after", "6.35", vent.SI, 6.35}, {"speed_after", "1250 fpm", vent.SI, 6.35},
		{"static_before", "0.45 in w.c.", vent.SI, 0.45 * 249.0889}, {"static_before", "0.45", vent.US, 0.45 * 249.0889},
		{"static_before", "-5", vent.SI, -5},
		{"flow_after", "100", vent.US, 0.0471947443}, {"flow_after", "47", vent.SI, 0.047},
		{"washer_volume", "4.5", vent.US, 0.1274258094}, {"washer_volume", "127 L", vent.US, 0.127}, {"washer_volume", "0.127 m3", vent.US, 0.127},
		{"washer_volume", "4.5 cu ft", vent.SI, 0.1274258094}, {"washer_volume", "60", vent.SI, 0.06},
	} {
		g := readFile(t, Source{Name: "a.csv", Reader: strings.NewReader("customer_name;fuel;last_cleaned;" + x.column + "\nAda;gas;2025-01-01;" + quotedCell(x.cell) + "\n")}, Options{Units: x.units})
		if c := g.cell(t, 0, x.column); math.Abs(c.Value.Number-x.want) > 1e-9 {
			t.Errorf("%s %q in %s is %v, want %v", x.column, x.cell, x.units, c.Value.Number, x.want)
		}
	}
}

func quotedCell(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

func TestHeader(t *testing.T) {
	g := readText(t, "a.csv", "customer_name,fule,adress,shoe_size\nAda,gas,1 Elm Row,44\n")
	said := fmt.Sprint(g.problems.Listed)
	for _, want := range []string{"fule", "did you mean fuel", "did you mean address", "shoe_size", "the column is missing"} {
		if !strings.Contains(said, want) {
			t.Errorf("%s does not say %q", said, want)
		}
	}
	if len(g.rows) != 0 {
		t.Errorf("%d rows were read below a header that lacks fuel", len(g.rows))
	}
	g = readFile(t, Source{Name: "a.csv", Reader: strings.NewReader("customer_name,fuel,shoe_size\nAda,gas,44\n")}, Options{IgnoreUnknown: true})
	if g.problems.Len() > 0 || len(g.rows) != 1 {
		t.Errorf("unknown column not ignored: %v", g.problems.Listed)
	}
	readText(t, "a.csv", "customer_name,fuel,Customer Name\nAda,gas,Bea\n").wantProblem(t, 1, "Customer Name", "twice")
	readText(t, "a.csv", "1,2,3\n4,5,6\n").mustSay(t, "no documented column")
	readText(t, "a.csv", "run_ref,last_cleaned\nV-1,2025-10-02\n").mustBeClean(t)
	readFile(t, Source{Name: "a.csv", Reader: strings.NewReader("address,fuel\n1 Elm Row,gas\n")}, Options{OwnBuildings: true}).mustBeClean(t)
}

func (g got) mustSay(t *testing.T, want string) {
	t.Helper()
	if said := fmt.Sprint(g.problems.Listed); !strings.Contains(said, want) {
		t.Errorf("%s does not say %q", said, want)
	}
}

func (g got) mustBeClean(t *testing.T) {
	t.Helper()
	if g.problems.Len() > 0 {
		t.Errorf("problems: %v", g.problems.Listed)
	}
}

func TestShapeOfRows(t *testing.T) {
	readText(t, "a.csv", small+"Ada,1 Elm Row,gas,25,2025-10-02,surplus\n").wantProblem(t, 2, "", "6 cells", "quotes")
	readText(t, "a.csv", small+"Ada,1 Elm Row,gas\n,,,,\nBea,2 Elm Row,gas,25,2025-10-02,,\n").mustBeClean(t)
	readText(t, "a.csv", small+"Ada,1 \"Elm\" Row,gas,25,\nBea,2 Elm Row,gas,25,\n").wantProblem(t, 2, "", "quotes")
	if g := readText(t, "a.csv", small+"=1+1,@home,gas,25,\n"); g.cell(t, 0, "customer_name").Value.Text != "=1+1" {
		t.Error("text that looks like a formula did not stay text")
	}
}

func TestNotACSV(t *testing.T) {
	for name, x := range map[string]struct{ text, want string }{
		"UTF-16 LE":        {"\xff\xfec\x00u\x00", "CSV UTF-8"},
		"UTF-16 BE":        {"\xfe\xff\x00c\x00u", "CSV UTF-8"},
		"UTF-16 no mark":   {"c\x00u\x00s\x00", "CSV UTF-8"},
		"empty":            {"", "first row must name"},
		"blank":            {"\xef\xbb\xbf\n\n", "first row must name"},
		"old spreadsheet":  {"\xd0\xcf\x11\xe0\xa1\xb1", ".xlsx"},
		"one endless line": {strings.Repeat("x", 5<<20), "longer than"},
		"million columns":  {strings.Repeat("a,", 400000) + "\n", "400001 columns"},
	} {
		t.Run(name, func(t *testing.T) { readText(t, "a.csv", x.text).mustSay(t, x.want) })
	}
}

// endless gives the same bytes for ever, counting them.
type endless struct {
	text string
	n    int
}

func (e *endless) Read(b []byte) (int, error) {
	n := 0
	for n < len(b) {
		n += copy(b[n:], e.text)
	}
	e.n += n
	return n, nil
}

func TestEndlessRowsAreNotSwallowed(t *testing.T) {
	for name, more := range map[string]string{"line": "xxxxxxxx", "open quote": "x\n"} {
		t.Run(name, func(t *testing.T) {
			e := &endless{text: more}
			start := small
			if name == "open quote" {
				start += `"`
			}
			readFile(t, Source{Name: "a.csv", Reader: io.MultiReader(strings.NewReader(start), e)}, Options{}).wantProblem(t, 2, "", "longer than")
			if e.n > 2*maxRecord {
				t.Errorf("%d bytes were read of an endless row", e.n)
			}
		})
	}
	e := &endless{text: "x"}
	readFile(t, Source{Name: "a.jsonl", Reader: io.MultiReader(strings.NewReader(`{"a":"`), e)}, Options{}).mustSay(t, "longer than")
	if e.n > 3*maxLine {
		t.Errorf("%d bytes were read of an endless line", e.n)
	}
}

func TestEndlessProblemsAreCounted(t *testing.T) {
	g := readText(t, "a.csv", small+strings.Repeat("Ada,1 Elm Row,wood,x,y\n", 1000))
	if len(g.problems.Listed) != MaxListed || g.problems.Len() != 3000 || g.sum.Bad != 1000 {
		t.Errorf("%d listed of %d, %d bad rows", len(g.problems.Listed), g.problems.Len(), g.sum.Bad)
	}
	if err := g.problems.Err(); !errors.Is(err, vent.ErrInvalid) || !strings.Contains(err.Error(), "and 2800 more") {
		t.Errorf("error %v", err)
	}
}

func TestReadingIsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	e := &endless{text: "Ada,1 Elm Row,gas,25,\n"}
	var p Problems
	_, err := Read(ctx, Source{Name: "a.csv", Reader: io.MultiReader(strings.NewReader(small), e)}, Options{}, &p, Sink{Row: func(Row) error { return nil }})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want cancelled", err)
	}
}

func TestJSONL(t *testing.T) {
	g := readText(t, "a.jsonl", `{"customer_name":"Ada","fuel":"gas","duct_length":25,"pets":true,"elbows_90":2,"note":null,"last_cleaned":"2025-10-02"}`+"\n\n"+
		`{"customer_name":"Bea","fuel":"gas","lat":41.50}`)
	g.mustBeClean(t)
	if len(g.rows) != 2 || g.rows[1].Number != 3 {
		t.Fatalf("rows %+v", g.rows)
	}
	if !g.cell(t, 0, "pets").Value.Yes() || g.cell(t, 0, "elbows_90").Value.Number != 2 {
		t.Error("pets or elbows misread")
	}
	for name, x := range map[string]struct{ line, want string }{
		"unknown key":    {`{"custmer_name":"Ada"}`, "did you mean customer_name"},
		"twice":          {`{"fuel":"gas","fuel":"gas"}`, "twice"},
		"nested":         {`{"note":{"a":1}}`, "list or an object"},
		"array":          {`[1,2]`, "does not start with {"},
		"cut":            {`{"note":"a"`, "one JSON object"},
		"two on a line":  {`{"note":"a"}{"note":"b"}`, "one JSON object"},
		"record in rows": {`{"note":"a"}` + "\n" + `{"kind":"run","record":{}}`, "two files"},
		"not UTF-8":      {"{\"note\":\"\xff\"}", "UTF-8"},
		"export":         {`{"kind":"run","record":{}}`, "export"},
		"UTF-16":         {"\xff\xfe{\x00", "UTF-8"},
		"empty":          {"", "no rows"},
	} {
		t.Run(name, func(t *testing.T) { readText(t, "a.jsonl", x.line).mustSay(t, x.want) })
	}
}

// workbook writes rows into an xlsx; a time.Time becomes a day count with a date format.
func workbook(t testing.TB, sheet string, rows ...[]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetSheetName("Sheet1", sheet); err != nil {
		t.Fatal(err)
	}
	for i, cells := range rows {
		if err := f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &cells); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestXLSXDates(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	header := []any{"customer_name", "fuel", "last_cleaned", "made", "phone"}
	header = header[:4]
	if err := f.SetSheetRow("Sheet1", "A1", &header); err != nil {
		t.Fatal(err)
	}
	// 45932 is 2025-10-02: 45658 is 2025-01-01 (LibreOffice and Excel agree), plus 274 days.
	formats := []string{"yyyy-mm-dd", "m/d/yy", "dd.mm.yyyy", "d-mmm-yy", "[$-409]mmmm d, yyyy", "mmm-yy", "yyyy/mm/dd hh:mm", "yy-mm-dd"}
	for i, format := range formats {
		style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		if err != nil {
			t.Fatal(err)
		}
		row := []any{"Ada", "gas", 45932.0, "2019-03-01"}
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+2), &row); err != nil {
			t.Fatal(err)
		}
		if err := f.SetCellStyle("Sheet1", fmt.Sprintf("C%d", i+2), fmt.Sprintf("C%d", i+2), style); err != nil {
			t.Fatal(err)
		}
	}
	last := len(formats) + 2
	row := []any{"Ada", "gas", 45932, "2019-03-01"} // a plain number
	if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", last), &row); err != nil {
		t.Fatal(err)
	}
	money := "#,##0.00"
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &money})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", last+1), &row); err != nil {
		t.Fatal(err)
	}
	if err := f.SetCellStyle("Sheet1", fmt.Sprintf("C%d", last+1), fmt.Sprintf("C%d", last+1), style); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	g := readFile(t, Source{Name: "fleet.xlsx", Reader: &b}, Options{})
	if len(g.rows) != len(formats) {
		t.Fatalf("%d rows, want %d: %v", len(g.rows), len(formats), g.problems.Listed)
	}
	for i := range formats {
		if c := g.cell(t, i, "last_cleaned"); c.Value.Date() != vent.NewDate(2025, time.October, 2) {
			t.Errorf("format %s: %s, want 2025-10-02", formats[i], c.Value.Date())
		}
	}
	if g.problems.Len() != 2 {
		t.Fatalf("problems %v", g.problems.Listed)
	}
	for i, p := range g.problems.Listed {
		if p.Row != last+i || p.Column != "last_cleaned" || !strings.Contains(p.Remedy, "2025-10-02") {
			t.Errorf("plain number: %s", p)
		}
	}
}

func TestXLSXTraps(t *testing.T) {
	head := []any{"customer_name", "fuel", "duct_length", "note"}
	good := []any{"Ada", "gas", 25, "x"}
	t.Run("gaps keep row numbers", func(t *testing.T) {
		readFile(t, Source{Name: "a.xlsx", Reader: bytes.NewReader(workbook(t, "Fleet", head, nil, nil, []any{"Ada", "wood", 25}))}, Options{}).
			wantProblem(t, 4, "fuel", `"wood"`)
	})
	t.Run("named sheet", func(t *testing.T) {
		data := workbook(t, "Fleet", head, good)
		readFile(t, Source{Name: "a.xlsx", Reader: bytes.NewReader(data)}, Options{Sheet: "fleet"}).mustBeClean(t)
		readFile(t, Source{Name: "a.xlsx", Reader: bytes.NewReader(data)}, Options{Sheet: "Trucks"}).mustSay(t, `name one of ["Fleet"]`)
	})
	t.Run("content tells the format", func(t *testing.T) {
		g := readFile(t, Source{Name: "a.csv", Reader: bytes.NewReader(workbook(t, "Fleet", head, good))}, Options{})
		if g.mustBeClean(t); len(g.rows) != 1 {
			t.Errorf("%d rows", len(g.rows))
		}
	})
	t.Run("formulas give their last result and text stays text", func(t *testing.T) {
		f := excelize.NewFile()
		defer f.Close()
		row := []any{"Ada", "gas", 40, "=cmd()"}
		for cell, r := range map[string]*[]any{"A1": &head, "A2": &row} {
			if err := f.SetSheetRow("Sheet1", cell, r); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.SetCellFormula("Sheet1", "C2", "20+20"); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		g := readFile(t, Source{Name: "a.xlsx", Reader: &b}, Options{})
		g.mustBeClean(t)
		if n := g.cell(t, 0, "note").Value.Text; n != "=cmd()" {
			t.Errorf("note %q", n)
		}
	})
	t.Run("not a spreadsheet", func(t *testing.T) {
		for _, data := range []string{"", "PK\x03\x04garbage", "hello", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"} {
			g := readFile(t, Source{Name: "a.xlsx", Reader: strings.NewReader(data)}, Options{})
			if g.problems.Len() != 1 || g.problems.Listed[0].Remedy == "" {
				t.Errorf("%q: %v", data, g.problems.Listed)
			}
		}
	})
	t.Run("empty sheet", func(t *testing.T) {
		readFile(t, Source{Name: "a.xlsx", Reader: bytes.NewReader(workbook(t, "Fleet"))}, Options{}).mustSay(t, "is empty")
	})
}

// bomb makes an xlsx whose sheet claims to be and is so many bytes unpacked.
func bomb(t *testing.T, claims uint64, is int) *bytes.Buffer {
	t.Helper()
	var packed, b bytes.Buffer
	f, err := flate.NewWriter(&packed, flate.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(make([]byte, is)); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	z := zip.NewWriter(&b)
	w, err := z.CreateRaw(&zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Deflate,
		UncompressedSize64: claims, CompressedSize64: uint64(packed.Len()), CRC32: crc32.ChecksumIEEE(make([]byte, is))})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(packed.Bytes()); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return &b
}

func TestXLSXBombs(t *testing.T) {
	for name, b := range map[string]*bytes.Buffer{
		"honest about its size": bomb(t, maxPlain+1, 1<<20),
		"lies about its size":   bomb(t, 100, 8<<20),
	} {
		t.Run(name, func(t *testing.T) {
			readFile(t, Source{Name: "a.xlsx", Reader: b}, Options{}).mustSay(t, "cannot be read as xlsx")
		})
	}
}

func TestAHeadingWithoutItsSecondWordIsAName(t *testing.T) {
	for heading, want := range map[string]string{"Customer": "customer_name", "Site": "site_name", "unit": "unit_name", "Contact": "contact_name",
		"custmer_name": "customer_name", "adress": "address", "zzz": "", "a": "", "ab": ""} {
		if got := likelyColumn(normal(heading)); got != want {
			t.Errorf("%q suggests %q, want %q", heading, got, want)
		}
	}
}
