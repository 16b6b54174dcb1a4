package intake

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// jsonl reads one object per line. A file whose first object has a "kind" is an export, and its lines go the records'
// way; in any other file the keys are the documented columns.
func (r *reading) jsonl(in *bufio.Reader) error {
	lines := bufio.NewScanner(in)
	lines.Buffer(make([]byte, 64<<10), maxLine)
	number, known := 0, false
	for lines.Scan() {
		number++
		line := bytes.TrimSpace(lines.Bytes())
		if number == 1 {
			line = bytes.TrimPrefix(line, []byte(bom))
			if remedy := notCSV(lines.Bytes()); remedy != "" && len(line) > 0 {
				r.refuse("this is not a file of JSON lines in UTF-8", remedy)
				return nil
			}
		}
		if len(line) == 0 {
			continue
		}
		if !known {
			known, r.sum.Dump = true, isRecord(line)
			if r.sum.Dump && r.sink.Record == nil {
				r.refuse("the file is an export", "import it as such")
				return nil
			}
		}
		if err := r.line(number, line); err != nil {
			return err
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		r.p.Add(Problem{Row: number + 1, What: fmt.Sprintf("the line is longer than %d bytes", maxLine),
			Remedy: "write one JSON object per line. Nothing after it was read"})
		r.sum.Bad++
		r.sum.Rows++
	case err != nil:
		return err
	case !known:
		r.refuse("the file has no rows", "write one JSON object per line")
	}
	return nil
}

func (r *reading) line(number int, line []byte) error {
	if r.sum.Dump {
		if err := r.count(); err != nil {
			return err
		}
		return r.sink.Record(Record{number, line})
	}
	row, ok := r.object(number, line)
	if ok && len(row.Cells) == 0 {
		return nil
	}
	return r.hand(row, ok)
}

// isRecord reports whether a line is an exported record: no documented column is called "kind".
func isRecord(line []byte) bool {
	var x struct {
		Kind json.RawMessage `json:"kind"`
	}
	return json.Unmarshal(line, &x) == nil && x.Kind != nil
}

// object reads one object's members as cells.
func (r *reading) object(number int, line []byte) (Row, bool) {
	row := Row{Number: number}
	if !utf8.Valid(line) {
		r.p.Add(Problem{Row: number, What: "the line is not UTF-8", Remedy: "save the file as UTF-8"})
		return row, false
	}
	members, err := members(line)
	if err != nil {
		r.p.Add(Problem{Row: number, What: "the line is not one JSON object: " + err.Error(), Remedy: "write one object per line"})
		return row, false
	}
	ok, seen := true, map[string]bool{}
	for _, m := range members {
		col, known := byName()[normal(m.name)]
		switch {
		case seen[normal(m.name)]:
			r.p.Add(Problem{Row: number, Column: m.name, What: "the key is there twice", Remedy: "keep one of them"})
			ok = false
		case m.name == "kind":
			r.p.Add(Problem{Row: number, Column: m.name, What: "an exported record stands among rows", Remedy: "put records and rows in two files"})
			ok = false
		case !known && r.o.IgnoreUnknown:
		case !known:
			r.p.Add(unknownColumn(number, m.name))
			ok = false
		case m.nested:
			r.p.Add(Problem{Row: number, Column: m.name, Value: m.text, What: "is a list or an object", Remedy: "write a text, a number, true or false"})
			ok = false
		case m.text != "":
			cell, err := readCell(col, number, m.text, r.o.Units)
			if err != nil {
				r.p.Add(cellProblem(col, number, m.text, err))
				ok = false
				break
			}
			row.Cells = append(row.Cells, cell)
		}
		seen[normal(m.name)] = true
	}
	slices.SortFunc(row.Cells, func(a, b Cell) int { return int(a.Col) - int(b.Col) })
	return row, ok
}

// member is one key with its value as text.
type member struct {
	name, text string
	nested     bool
}

// members reads an object's members in their order, numbers as they are written.
func members(line []byte) ([]member, error) {
	d := json.NewDecoder(bytes.NewReader(line))
	d.UseNumber()
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, errors.New("it does not start with {")
	}
	var all []member
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return nil, err
		}
		m := member{name: fmt.Sprint(t)}
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, err
		}
		if m.text, m.nested, err = plain(raw); err != nil {
			return nil, err
		}
		if all = append(all, m); len(all) > maxColumns {
			return nil, fmt.Errorf("it has more than %d keys", maxColumns)
		}
	}
	if _, err := d.Token(); err != nil {
		return nil, errors.New("it has no end")
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("something follows it")
	}
	return all, nil
}

// plain gives a value as a cell would show it.
func plain(raw json.RawMessage) (text string, nested bool, err error) {
	switch raw[0] {
	case '"':
		err = json.Unmarshal(raw, &text)
		return strings.TrimSpace(text), false, err
	case '{', '[':
		return string(raw), true, nil
	case 'n':
		return "", false, nil
	}
	if _, err := strconv.ParseBool(string(raw)); err == nil && len(raw) > 1 {
		return map[bool]string{true: "yes", false: "no"}[raw[0] == 't'], false, nil
	}
	return string(raw), false, nil
}
