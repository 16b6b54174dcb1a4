package intake

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"ventdue/vent"
)

// MaxListed is how many problems are kept with their text; the rest are counted.
const MaxListed = 200

// Problem is one thing wrong in a file.
type Problem struct {
	// Row is the row as the spreadsheet shows it, the header being row 1 (in jsonl: the line); 0 concerns the whole file.
	Row int `json:"row,omitempty"`
	// Column is the documented name of the column, or the file's own where it is not known.
	Column string `json:"column,omitempty"`
	// Value is what the cell holds.
	Value string `json:"value,omitempty"`
	// What says what is wrong, Remedy what to do about it.
	What   string `json:"what"`
	Remedy string `json:"remedy,omitempty"`
}

// String gives the problem in one line.
func (p Problem) String() string {
	var b strings.Builder
	if p.Row > 0 {
		fmt.Fprintf(&b, "row %d", p.Row)
	} else {
		b.WriteString("file")
	}
	if p.Column != "" {
		b.WriteString(", " + p.Column)
	}
	if p.Value != "" {
		fmt.Fprintf(&b, " %q", p.Value)
	}
	b.WriteString(": " + p.What)
	if p.Remedy != "" {
		b.WriteString("; " + p.Remedy)
	}
	return b.String()
}

// Problems collects what is wrong with a file: the first MaxListed in full, the others as a number.
type Problems struct {
	Listed []Problem `json:"listed,omitempty"`
	More   int       `json:"more,omitempty"` // beyond those listed
	// Unknown is the row of a header that has columns nobody knows, 0: there is none. What would tell rows apart may stand in them.
	Unknown int `json:"-"`
}

// Add notes one problem. Long values are cut, so that a hostile cell does not fill the screen.
func (p *Problems) Add(x Problem) {
	if len(p.Listed) >= MaxListed {
		p.More++
		return
	}
	x.Value = printable(shorten(x.Value, 60))
	x.Column = printable(shorten(x.Column, 60))
	p.Listed = append(p.Listed, x)
}

// append notes what other problems there are, in their order.
func (p *Problems) append(others Problems) {
	for _, x := range others.Listed {
		p.Add(x)
	}
	p.More += others.More
	p.Unknown = max(p.Unknown, others.Unknown)
}

// Len counts all problems, listed or not.
func (p *Problems) Len() int { return len(p.Listed) + p.More }

// Err gives all listed problems as one error that matches vent.ErrInvalid, or nil.
func (p *Problems) Err() error {
	if p.Len() == 0 {
		return nil
	}
	lines := make([]string, 0, len(p.Listed)+1)
	for _, x := range p.Listed {
		lines = append(lines, x.String())
	}
	if p.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", p.More))
	}
	return fmt.Errorf("%w:\n%s", vent.ErrInvalid, strings.Join(lines, "\n"))
}

// Split parts a sentence of the form "what is wrong: remedy", as vent and airflow write them.
func Split(text string) (what, remedy string) {
	for _, mark := range []string{": give ", ": use ", ": write ", ": say ", ": save "} {
		if i := strings.LastIndex(text, mark); i >= 0 {
			return text[:i], text[i+2:]
		}
	}
	return text, ""
}

// shorten cuts s to at most n runes, marking the cut.
func shorten(s string, n int) string {
	if len(s) <= n || utf8.RuneCountInString(s) <= n {
		return s
	}
	i := 0
	for cut := range s {
		if i++; i == n {
			return s[:cut] + "…"
		}
	}
	return s
}

// printable shows bytes that are not text as marks.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r == utf8.RuneError || r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return '�'
		}
		return r
	}, s)
}
