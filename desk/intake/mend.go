package intake

import "strings"

// Mend is one cell of a csv or xlsx file as somebody put it right before the file is taken. In the header's row it gives a
// column another name; a column that the file does not have is added.
type Mend struct {
	Row    int    // as in Problem
	Column string // as in Problem: the documented name, or the file's own where it is not known
	Value  string // what is to stand there; "" empties the cell
}

// mended applies mends to a file's rows on their way in.
type mended struct {
	cells map[int][]Mend
	at    map[string]int // place of a column, by its documented name in the form in which names are compared
}

func newMended(all []Mend) mended {
	m := mended{cells: map[int][]Mend{}, at: map[string]int{}}
	for _, x := range all {
		m.cells[x.Row] = append(m.cells[x.Row], x)
	}
	return m
}

// header gives the names of the columns as they are mended, and adds those that only mends fill.
func (m mended) header(row int, names []string) []string {
	if len(m.cells) == 0 {
		return names
	}
	for _, x := range m.cells[row] {
		for i := range names {
			if normal(names[i]) == normal(x.Column) {
				names[i] = x.Value
			}
		}
	}
	for i := len(names) - 1; i >= 0; i-- { // the first of two counts
		m.at[normal(names[i])] = i
	}
	for number, cells := range m.cells {
		for _, x := range cells {
			if _, there := m.at[normal(x.Column)]; number != row && !there && x.Value != "" && len(names) < maxColumns {
				m.at[normal(x.Column)] = len(names)
				names = append(names, x.Column)
			}
		}
	}
	return names
}

// row gives the cells of a row as they are mended.
func (m mended) row(number int, texts []string) []string {
	for _, x := range m.cells[number] {
		at, ok := m.at[normal(x.Column)]
		if !ok {
			continue
		}
		for len(texts) <= at {
			texts = append(texts, "")
		}
		texts[at] = strings.TrimSpace(x.Value)
	}
	return texts
}
