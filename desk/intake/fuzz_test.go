package intake

import (
	"bytes"
	"context"
	"strings"
	"testing"
)

// fuzzRead reads hostile bytes in one format. Whatever they are, reading must end, count right, hand on rows whose cells
// are in order and of known columns, and name a remedy with every problem.
func fuzzRead(t *testing.T, format Format, data []byte) {
	var p Problems
	sheet := NewSheet(&p)
	handed, last := 0, 0
	sum, err := Read(context.Background(), Source{Name: "fuzz", Format: format, Reader: bytes.NewReader(data)}, Options{}, &p, Sink{
		Row: func(r Row) error {
			handed++
			if r.Number <= last {
				t.Errorf("row %d after row %d", r.Number, last)
			}
			last = r.Number
			for i, c := range r.Cells {
				if int(c.Col) >= len(table()) || i > 0 && c.Col <= r.Cells[i-1].Col {
					t.Errorf("cells %v are not in the order of the columns", r.Cells)
				}
			}
			sheet.Add(r)
			return nil
		},
		Record: func(Record) error { handed++; return nil },
	})
	if err != nil {
		t.Fatalf("reading bytes from memory failed: %v", err)
	}
	if handed+sum.Bad != sum.Rows {
		t.Errorf("%d rows, %d bad, %d handed on", sum.Rows, sum.Bad, handed)
	}
	if sum.Bad > 0 && p.Len() == 0 {
		t.Error("bad rows, but no problem")
	}
	for _, x := range p.Listed {
		if x.What == "" || x.Remedy == "" {
			t.Errorf("problem without word or remedy: %+v", x)
		}
	}
}

func FuzzCSV(f *testing.F) {
	f.Add([]byte(small + "Ada,1 Elm Row,gas,25,2025-10-02\n"))
	f.Add([]byte("\xef\xbb\xbfcustomer_name;fuel;elbows_90;riser_ref\r\n\"a\nb\";gas;2;x\r\n\r\n;;;\n"))
	f.Add([]byte("sep=\t\ncustomer_ref\tlast_cleaned\tcleaned_by\n1\t03/04/2026\tus\n1\t\tus\n"))
	f.Add([]byte("sep=\"\ncustomer_ref\n1\n")) // a quote separates nothing
	f.Add([]byte("run_ref,duct_length,note\nV1,17 ft 6 in,=1+1\nV1,-1,\"open\n"))
	f.Add([]byte("customer_name,fuel,run_shape,occupant_since,ceiling_months,washer_volume\nA,ventless,riser,2020-02-30,12,4.5 cu ft\n"))
	f.Fuzz(func(t *testing.T, data []byte) { fuzzRead(t, CSV, data) })
}

func FuzzJSONL(f *testing.F) {
	f.Add([]byte(`{"customer_name":"Ada","fuel":"gas","duct_length":25,"pets":true,"note":null}` + "\n"))
	f.Add([]byte(`{"kind":"ventdue_export","version":1}` + "\n" + `{"kind":"run","record":{}}`))
	f.Add([]byte("\xef\xbb\xbf" + `{"a":{"b":[1,2]},"a":1e999,"lat":"\ud800"}` + "\n[]\n{}{}\n"))
	f.Fuzz(func(t *testing.T, data []byte) { fuzzRead(t, JSONL, data) })
}

func FuzzDates(f *testing.F) {
	for _, s := range []string{"2026-11-25", "03/04/2026", "2026-02-29", "45993", "4 March 2026", "", "0000-00-00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := readDate(s)
		if err == nil && d.String() != s {
			t.Errorf("%q was read as %s", s, d)
		}
		if err != nil && !strings.Contains(err.Error(), "write ") {
			t.Errorf("%q: %v shows no way to write it", s, err)
		}
	})
}
