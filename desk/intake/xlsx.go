package intake

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/xuri/excelize/v2"
)

// xlsx reads one sheet of a spreadsheet: the values as they are stored, a formula's last result, never a
// computation of our own.
func (r *reading) xlsx(in *bufio.Reader) (err error) {
	data, err := io.ReadAll(io.LimitReader(in, maxPacked+1))
	if err != nil {
		return err
	}
	if len(data) > maxPacked {
		r.refuse(fmt.Sprintf("the file is larger than %d MiB", maxPacked>>20), "split it, or save it as CSV UTF-8")
		return nil
	}
	defer func() {
		// The library has panicked on damaged files before; one file must not take the daemon down.
		if x := recover(); x != nil {
			r.refuse(fmt.Sprintf("the file is damaged: %v", x), "open it in a spreadsheet program and save it anew, or save it as CSV UTF-8")
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: maxPlain, UnzipXMLSizeLimit: 16 << 20})
	if err != nil {
		r.refuse("the file cannot be read as xlsx: "+shorten(err.Error(), 200), xlsxRemedy(data))
		return nil
	}
	defer f.Close()
	sheet, ok := r.sheet(f)
	if !ok {
		return nil
	}
	s := &sheetReader{file: f, sheet: sheet}
	defer s.close()
	if s.rows, err = f.Rows(sheet); err != nil {
		r.refuse(fmt.Sprintf("sheet %q cannot be read: %s", sheet, shorten(err.Error(), 200)), "name another sheet, or save it as CSV UTF-8")
		return nil
	}
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		s.from1904 = *props.Date1904
	}
	return r.sheetRows(s)
}

func xlsxRemedy(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "it has a password or the old binary form: save it as .xlsx without a password, or as CSV UTF-8"
	case !bytes.HasPrefix(data, []byte("PK")):
		return "it is no xlsx file: save it as .xlsx or as CSV UTF-8"
	}
	return "open it in a spreadsheet program and save it anew, or save it as CSV UTF-8"
}

// sheet finds the sheet that was named, or the first.
func (r *reading) sheet(f *excelize.File) (string, bool) {
	all := f.GetSheetList()
	if len(all) == 0 {
		r.refuse("the file has no sheet", "save it anew")
		return "", false
	}
	if r.o.Sheet == "" {
		return all[0], true
	}
	for _, s := range all {
		if strings.EqualFold(s, strings.TrimSpace(r.o.Sheet)) {
			return s, true
		}
	}
	r.refuse(fmt.Sprintf("there is no sheet %q", r.o.Sheet), fmt.Sprintf("name one of %q", all))
	return "", false
}

// sheetReader walks a sheet's rows; a second walk, started when it is first needed, gives cells as they are shown.
type sheetReader struct {
	file        *excelize.File
	sheet       string
	from1904    bool
	rows, shown *excelize.Rows
	shownAt     int
	shownCells  []string
}

func (s *sheetReader) close() {
	for _, r := range []*excelize.Rows{s.rows, s.shown} {
		if r != nil {
			_ = r.Close() // it was only read
		}
	}
}

func (r *reading) sheetRows(s *sheetReader) error {
	var h *header
	for number := 1; s.rows.Next(); number++ {
		if number%tellEvery == 0 && r.ctx.Err() != nil {
			return r.ctx.Err() // a sheet may have a million empty rows
		}
		texts, err := s.rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			r.p.Add(Problem{Row: number, What: "the row cannot be read: " + shorten(err.Error(), 200), Remedy: "save the file anew, or as CSV UTF-8"})
			return nil
		}
		if strings.TrimSpace(strings.Join(texts, "")) == "" {
			continue
		}
		if h == nil {
			var ok bool
			if h, ok = newHeader(r.mended.header(number, texts), number, r.o, r.p); !ok {
				return nil
			}
			continue
		}
		if err := s.dates(h, number, texts); err != nil {
			return err
		}
		if err := r.take(h, number, r.mended.row(number, texts)); err != nil {
			return err
		}
	}
	if err := s.rows.Error(); err != nil {
		r.refuse("the sheet cannot be read to its end: "+shorten(err.Error(), 200), "save the file anew, or as CSV UTF-8")
		return nil
	}
	if h == nil {
		r.refuse(fmt.Sprintf("sheet %q is empty", s.sheet), "the first row must name the columns; or name another sheet")
	}
	r.anyRow(h)
	return nil
}

// dates turns day counts in cells with a date format into ISO dates. A plain number in a date column stays what it is,
// and is refused later with the day that it may stand for.
func (s *sheetReader) dates(h *header, number int, texts []string) error {
	for _, f := range h.fields {
		if f.kind == nil || !f.kind.isDate || f.at >= len(texts) {
			continue
		}
		raw := texts[f.at]
		serial, err := strconv.ParseFloat(raw, 64)
		if err != nil || serial < 1 || serial > 2958465 { // 9999-12-31
			continue
		}
		shown, err := s.shownCell(number, f.at)
		if err != nil {
			return err
		}
		day, err := excelize.ExcelDateToTime(serial, s.from1904)
		if err == nil && shown != raw && showsDate(shown, day) {
			texts[f.at] = day.Format("2006-01-02")
		}
	}
	return nil
}

// shownCell gives a cell as its format shows it. The streaming reader does not tell a cell's format itself.
func (s *sheetReader) shownCell(number, at int) (string, error) {
	if s.shown == nil {
		rows, err := s.file.Rows(s.sheet)
		if err != nil {
			return "", err
		}
		s.shown = rows
	}
	for s.shownAt < number {
		if !s.shown.Next() {
			return "", errors.New("the sheet has fewer rows than before")
		}
		if s.shownAt++; s.shownAt == number {
			cells, err := s.shown.Columns(excelize.Options{RawCellValue: false})
			if err != nil {
				return "", err
			}
			s.shownCells = cells
		}
	}
	if at >= len(s.shownCells) {
		return "", nil
	}
	return s.shownCells[at], nil
}

// showsDate reports whether a cell's shown text is the day in some date format: it has the year, with four digits or
// two, and the month as a number or as a word.
func showsDate(shown string, day time.Time) bool {
	year, month := false, strings.ContainsFunc(shown, unicode.IsLetter)
	digits := func(r rune) bool { return r < '0' || r > '9' }
	for i, n := range strings.FieldsFunc(shown, digits) {
		v, err := strconv.Atoi(n)
		switch {
		case err != nil || i > 5:
			return false
		case v == day.Year() && len(n) == 4, v == day.Year()%100 && len(n) == 2 && !year:
			year = true
		}
		month = month || v == int(day.Month())
	}
	return year && month
}
