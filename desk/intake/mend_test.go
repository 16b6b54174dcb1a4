package intake

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// What is put right is read as if the file had said so: a cell, a heading, a cell in a column that the file lacks.
func TestMends(t *testing.T) {
	const file = "customer_name,adress,fuel,duct_length\nIda Lund,9 Heron Lane,gaz,25 ft\nPer Holm,4 Alder Court,gas,long\n"
	var book bytes.Buffer
	x := excelize.NewFile()
	for i, line := range strings.Split(strings.TrimSpace(file), "\n") {
		for j, cell := range strings.Split(line, ",") {
			at, _ := excelize.CoordinatesToCellName(j+1, i+1)
			if err := x.SetCellValue("Sheet1", at, cell); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := x.Write(&book); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string]string{"fleet.csv": file, "fleet.xlsx": book.String()} {
		read := func(mends ...Mend) (rows []Row, problems []Problem) {
			var p Problems
			_, err := Read(context.Background(), Source{Name: name, Reader: strings.NewReader(data)}, Options{Mended: mends}, &p,
				Sink{Row: func(r Row) error { rows = append(rows, r); return nil }})
			if err != nil {
				t.Fatal(err)
			}
			return rows, p.Listed
		}
		if rows, problems := read(); len(rows) != 0 || len(problems) != 3 {
			t.Errorf("%s as it is: %d rows, %v", name, len(rows), problems)
		}
		rows, problems := read(Mend{1, "adress", "address"}, Mend{2, "fuel", "gas"}, Mend{3, "duct_length", ""}, Mend{3, "last_cleaned", "2025-10-02"})
		if len(rows) != 2 || len(problems) != 0 {
			t.Fatalf("%s mended: %d rows, %v", name, len(rows), problems)
		}
		said := map[string]string{}
		for _, c := range rows[1].Cells {
			said[c.Column().Name] = c.Value.Text
		}
		if said["address"] != "4 Alder Court" || said["last_cleaned"] != "2025-10-02" || said["duct_length"] != "" {
			t.Errorf("%s: row 3 says %v", name, said)
		}
		if _, problems := read(Mend{1, "adress", "address"}, Mend{2, "fuel", "coal"}, Mend{3, "duct_length", "9 ft"}, Mend{99, "fuel", "gas"}, Mend{2, "<script>", ""}); len(problems) != 1 || problems[0].Value != "coal" {
			t.Errorf("%s mended wrongly: %v", name, problems)
		}
	}
}
