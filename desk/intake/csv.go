package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
)

const bom = "\xef\xbb\xbf"

// csv reads a csv file: comma, semicolon or tab, told by the header.
func (r *reading) csv(in *bufio.Reader) error {
	head, err := in.Peek(in.Size())
	if err != nil && err != io.EOF {
		return err
	}
	if remedy := notCSV(head); remedy != "" {
		r.refuse("this is not a csv file in UTF-8", remedy)
		return nil
	}
	if bytes.HasPrefix(head, []byte(bom)) {
		_, _ = in.Discard(len(bom)) // was peeked, so it is there
		head = head[len(bom):]
	}
	comma, skip := separator(head)
	_, _ = in.Discard(skip)
	limited := &rowLimit{r: in}
	c := csv.NewReader(bufio.NewReaderSize(limited, 4096))
	c.Comma, c.FieldsPerRecord, c.ReuseRecord = comma, -1, true
	rows := &csvRows{c: c, limited: limited, o: r.o, mended: r.mended, next: 1}
	if err := ahead(rows.all, r.enter); err != nil {
		return err
	}
	if rows.h == nil && !rows.refused {
		r.refuse("the file has no rows", "the first row must name the columns")
	}
	r.anyRow(rows.h)
	return nil
}

// notCSV tells by the first bytes what a file is that is no csv in UTF-8, as a remedy; "" when it may be one.
func notCSV(head []byte) string {
	switch {
	case len(bytes.TrimSpace(bytes.TrimPrefix(head, []byte(bom)))) == 0:
		return "it is empty: the first row must name the columns"
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		return "it is UTF-16: save it as \"CSV UTF-8\""
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return "it is a spreadsheet or zip file: import it as xlsx, or save it as CSV UTF-8"
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0")):
		return "it is a spreadsheet of the old binary form: save it as .xlsx or as CSV UTF-8"
	}
	line, _, _ := bytes.Cut(head, []byte("\n"))
	if bytes.IndexByte(line, 0) >= 0 {
		return "its first line holds NUL bytes, perhaps UTF-16: save it as \"CSV UTF-8\""
	}
	return ""
}

// separator finds the separator by which most of the header's names are known, and how many bytes to skip before the
// header: some spreadsheets write a first line "sep=;".
func separator(head []byte) (comma rune, skip int) {
	line, _, _ := bytes.Cut(head, []byte("\n"))
	if after, ok := bytes.CutPrefix(bytes.TrimSuffix(line, []byte("\r")), []byte("sep=")); ok && len(after) == 1 && strings.Contains(",;\t|", string(after)) {
		return rune(after[0]), len(line) + 1
	}
	text := strings.TrimLeft(string(head), " \r\n")
	header, _, _ := strings.Cut(text, "\n")
	best := -1
	comma = ','
	for _, sep := range []rune{',', ';', '\t'} {
		score := strings.Count(header, string(sep))
		for _, name := range strings.Split(header, string(sep)) {
			if _, ok := byName()[normal(strings.Trim(name, "\" \r"))]; ok {
				score += 1000
			}
		}
		if score > best {
			best, comma = score, sep
		}
	}
	return comma, 0
}

// csvRows takes rows apart and parses their cells, ahead of those who enter them. A row's number is what a spreadsheet
// shows: an empty line counts, a line break inside quotes does not.
type csvRows struct {
	c         *csv.Reader
	limited   *rowLimit
	o         Options
	mended    mended
	h         *header // nil until it is read
	refused   bool    // with it, no row can be read
	row, next int     // last row, and the line on which the next one may start
}

// all emits the rows, and what is wrong with the header as a row that is empty.
func (s *csvRows) all(emit func(parsed) error) error {
	for {
		s.limited.left = maxRecord
		texts, err := s.c.Read()
		if err == io.EOF {
			return nil
		}
		if errors.Is(err, errTooLong) {
			x := parsed{unread: true}
			x.problems.Add(Problem{Row: s.row + 1, What: fmt.Sprintf("the row is longer than %d bytes", maxRecord),
				Remedy: "is a quote left open, or is this not a csv file? Nothing after it was read"})
			s.refused = true
			return emit(x)
		}
		var x parsed
		if bad := (*csv.ParseError)(nil); errors.As(err, &bad) {
			x = s.misquoted(bad)
		} else if err != nil {
			return err
		} else {
			x = s.parse(texts)
		}
		if err := emit(x); err != nil || s.refused {
			return err
		}
	}
}

func (s *csvRows) misquoted(bad *csv.ParseError) parsed {
	s.row += max(bad.StartLine-s.next, 0) + 1
	s.next = bad.Line + 1
	x := parsed{unread: true}
	x.problems.Add(Problem{Row: s.row, What: fmt.Sprintf("the quotes are wrong on line %d", bad.Line),
		Remedy: `a text that holds a quote is written "like ""this"" one"`})
	return x
}

// parse reads a row; the first is the header.
func (s *csvRows) parse(texts []string) (x parsed) {
	start, _ := s.c.FieldPos(0)
	s.row += max(start-s.next, 0) + 1
	s.next = endLine(s.c, texts) + 1
	if s.h != nil {
		x.row, x.ok, x.empty = s.h.row(s.row, s.mended.row(s.row, texts), s.o.Units, &x.problems)
		return x
	}
	h, ok := newHeader(s.mended.header(s.row, texts), s.row, s.o, &x.problems)
	x.empty, s.refused = true, !ok
	if ok {
		s.h = h
		h.comma = s.c.Comma == ';' // spreadsheets write it where the comma stands in numbers
	}
	return x
}

// endLine gives the line on which a record ends.
func endLine(c *csv.Reader, texts []string) int {
	last := len(texts) - 1
	line, _ := c.FieldPos(last)
	return line + strings.Count(texts[last], "\n")
}

var errTooLong = errors.New("row too long")

// rowLimit ends the reading of a row that has no end. Whoever reads sets left before each row; what is read ahead
// counts against it, which only makes the bound a little looser.
type rowLimit struct {
	r    io.Reader
	left int
}

func (l *rowLimit) Read(b []byte) (int, error) {
	if l.left <= 0 {
		return 0, errTooLong
	}
	n, err := l.r.Read(b)
	l.left -= n
	return n, err
}
