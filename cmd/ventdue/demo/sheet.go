package demo

import (
	"bytes"
	"encoding/csv"

	"ventdue/desk/intake"
	"ventdue/vent"
)

// row is one row of a list: documented columns and what they hold.
type row map[string]string

// yes writes a yes; a no is left out, as most lists do.
func (r row) yes(column string, is bool) {
	if is {
		r[column] = "yes"
	}
}

// list is a list of customers in the making.
type list struct {
	on   vent.Date
	name string
	rows []row
}

// csv writes the documented columns that any row fills, in their documented order.
func (l list) csv() []byte {
	var columns []string
	for _, c := range intake.ColumnNames() {
		for _, r := range l.rows {
			if r[c] != "" {
				columns = append(columns, c)
				break
			}
		}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(cells []string) { _ = w.Write(cells) } // a buffer takes everything
	write(columns)
	for _, r := range l.rows {
		cells := make([]string, len(columns))
		for i, c := range columns {
			cells[i] = r[c]
		}
		write(cells)
	}
	w.Flush()
	return b.Bytes()
}
