package intake

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ventdue/vent"
)

// header says which column of the file is which documented one.
type header struct {
	fields []field // in the order of the documented columns
	comma  bool    // numbers have a decimal comma
	width  int     // columns of the file
}

type field struct {
	at   int // place in the file
	col  int // place in the table
	kind *kind
}

// newHeader reads a header row and notes what is wrong with it. ok is false where rows cannot be read at all.
func newHeader(names []string, row int, o Options, p *Problems) (h *header, ok bool) {
	if len(names) > maxColumns {
		p.Add(Problem{Row: row, What: fmt.Sprintf("the header has %d columns", len(names)),
			Remedy: fmt.Sprintf("at most %d are read; is the separator right?", maxColumns)})
		return nil, false
	}
	h = &header{width: len(names)}
	ok = true
	seen := map[int]string{}
	for i, name := range names {
		name = strings.TrimSpace(name)
		if name == "" {
			continue // a problem only when a cell below it is filled
		}
		col, known := byName()[normal(name)]
		if !known {
			if !o.IgnoreUnknown {
				p.Add(unknownColumn(row, name))
				p.Unknown = row
			}
			h.fields = append(h.fields, field{at: i, col: -1})
			continue
		}
		if first, twice := seen[col]; twice {
			p.Add(Problem{Row: row, Column: name, What: fmt.Sprintf("the column is there twice (%q and %q)", first, name), Remedy: "keep one of them"})
			ok = false
			continue
		}
		seen[col] = name
		h.fields = append(h.fields, field{at: i, col: col, kind: &table()[col].kind})
	}
	slices.SortFunc(h.fields, func(a, b field) int { return a.col - b.col })
	return h, h.complete(row, o, p) && ok
}

func unknownColumn(row int, name string) Problem {
	x := Problem{Row: row, Column: name, What: "the column is not known", Remedy: "rename it, take it out, or have unknown columns ignored"}
	if n := likelyColumn(normal(name)); n != "" {
		x.Remedy = fmt.Sprintf("did you mean %s? Else take it out, or have unknown columns ignored", n)
	}
	return x
}

// likelyColumn gives the column that a heading may mean: "Customer" the customer's name, "custmer_name" the one that differs
// least; "" where none is close.
func likelyColumn(heading string) string {
	if _, known := byName()[heading+"_name"]; known {
		return heading + "_name"
	}
	return nearest(heading, ColumnNames())
}

// complete checks that the columns are there without which no row can be placed. A file that names stored records
// by a *_ref needs nothing else; whether it does is seen row by row.
func (h *header) complete(row int, o Options, p *Problems) bool {
	have := map[string]bool{}
	for _, f := range h.fields {
		if f.col >= 0 {
			have[table()[f.col].Name] = true
		}
	}
	if len(have) == 0 {
		p.Add(Problem{Row: row, What: "the header has no documented column",
			Remedy: "the first row must name the columns, such as customer_name, address, fuel, duct_length, last_cleaned"})
		return false
	}
	for name := range have {
		switch name {
		case "customer_ref", "site_ref", "unit_ref", "run_ref":
			return true
		}
	}
	ok := true
	for _, c := range table() {
		if !c.Required || have[c.Name] || c.Part == OfCustomer && o.OwnBuildings {
			continue
		}
		p.Add(Problem{Row: row, Column: c.Name, What: "the column is missing", Remedy: fmt.Sprintf("add it (%s)", c.Meaning)})
		ok = false
	}
	return ok
}

// row parses the cells of one row. empty says that no cell is filled; ok that none has a problem.
func (h *header) row(number int, texts []string, units vent.UnitSystem, p *Problems) (row Row, ok, empty bool) {
	row, ok, empty = Row{Number: number}, true, true
	row.Cells = make([]Cell, 0, len(h.fields))
	for _, f := range h.fields {
		if f.at >= len(texts) {
			continue
		}
		text := strings.TrimSpace(texts[f.at])
		if text == "" {
			continue
		}
		empty = false
		if f.col < 0 {
			continue
		}
		plain := text
		if h.comma && f.kind.isNum {
			plain = decimalPoint(text)
		}
		cell, err := readCell(f.col, number, plain, units)
		if err != nil {
			p.Add(cellProblem(f.col, number, text, err))
			ok = false
			continue
		}
		row.Cells = append(row.Cells, cell)
	}
	if !h.within(number, texts, p) {
		ok, empty = false, false
	}
	return row, ok, empty
}

// decimalPoint writes a number's decimal comma as a point: "41,885", "4,5 cu ft". What may be something else stays.
func decimalPoint(s string) string {
	at := strings.IndexByte(s, ',')
	if at <= 0 || at+1 >= len(s) || strings.ContainsAny(s[at+1:], ",") || strings.Contains(s[:at], ".") || !isDigit(s[at-1]) || !isDigit(s[at+1]) {
		return s
	}
	return s[:at] + "." + s[at+1:]
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// within finds filled cells that no name of the header stands above: most often an unquoted separator in a text.
func (h *header) within(number int, texts []string, p *Problems) bool {
	for i := h.width; i < len(texts); i++ {
		if strings.TrimSpace(texts[i]) != "" {
			p.Add(Problem{Row: number, Value: texts[i], What: fmt.Sprintf("the row has %d cells, the header %d", len(texts), h.width),
				Remedy: "put texts that hold the separator in quotes"})
			return false
		}
	}
	return true
}

func readCell(col, number int, text string, units vent.UnitSystem) (Cell, error) {
	if !utf8.ValidString(text) {
		return Cell{}, refuse("save the file as UTF-8", "is not UTF-8")
	}
	if text[0] == '#' && slices.Contains(cellErrors, text) {
		return Cell{}, refuse("put the formula right or empty the cell", "is a spreadsheet's error")
	}
	v, err := table()[col].kind.parse(text, units)
	return Cell{Col: uint16(col), Row: int32(number), Value: v}, err
}

// cellErrors are what spreadsheets show where a formula failed.
var cellErrors = []string{"#N/A", "#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!", "#GETTING_DATA"}

func cellProblem(col, number int, text string, err error) Problem {
	x := Problem{Row: number, Column: table()[col].Name, Value: text}
	if w, ok := err.(*wrong); ok {
		x.What, x.Remedy = w.what, w.remedy
	} else {
		x.What, x.Remedy = Split(err.Error())
	}
	return x
}
