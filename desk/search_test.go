package desk

import (
	"fmt"
	"strings"
	"testing"

	"ventdue/vent"
)

func TestSearchFindsByAnyWord(t *testing.T) {
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, "run_ref,customer_ref,customer_name,contact_name,contact_email,contact_phone,site_name,address,unit_name,fuel,serial\n"+
		"R1,C-9,José Muñoz,José Muñoz,jose@example.com,(555) 010-0142,Heron House,9 Heron Lane,3B,gas,A0042\n"+
		"R2,C-9,José Muñoz,José Muñoz,jose@example.com,(555) 010-0142,Heron House,9 Heron Lane,13B,gas,\n"+
		"R3,C-10,Søren Weiß,Søren Weiß,soren@example.com,,Åsgård,4 Alder Court,,electric,\n")
	find := func(words string) string {
		h, err := d.Search(words, 0, 10)
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, x := range h.List {
			all = append(all, string(x.Kind)+" "+x.Name)
		}
		return strings.Join(all, "; ")
	}
	for words, want := range map[string]string{
		"munoz":       "customer José Muñoz; person José Muñoz; site Heron House; run Heron House, 3B; run Heron House, 13B",
		"JOSÉ heron":  "site Heron House; run Heron House, 3B; run Heron House, 13B",
		"3b":          "run Heron House, 3B; run Heron House, 13B",
		"heron 3B":    "run Heron House, 3B; run Heron House, 13B",
		"soren weiss": "customer Søren Weiß; person Søren Weiß; site Åsgård; run Åsgård",
		"asgard":      "site Åsgård; run Åsgård",
		"C-10":        "customer Søren Weiß; site Åsgård; run Åsgård",
		"R3":          "run Åsgård",
		"5550100142":  "person José Muñoz",
		"0142":        "person José Muñoz",
		"a0042":       "run Heron House, 3B",
		"soren@":      "person Søren Weiß",
		"heron alder": "",
		"nobody":      "",
		"  ":          "",
	} {
		if got := find(words); got != want {
			t.Errorf("%q finds %s\nwant %s", words, got, want)
		}
	}
	// A new name is found at once, an old one no more.
	mustImport(t, d, 1, "customer_ref,customer_name,address,fuel,run_ref\nC-10,Petra Novák,4 Alder Court,electric,R3\n")
	if got := find("novak"); !strings.HasPrefix(got, "customer Petra Novák") {
		t.Errorf("after a change: %s", got)
	}
	h, _ := d.Search("heron", 2, 1)
	if h.Total != 3 || len(h.List) != 1 || h.List[0].Name != "Heron House, 13B" {
		t.Errorf("the third: %+v", h)
	}
}

// A look into memory over 50 000 runs, beside what it costs to read the names anew after a change. Floor: walking over the
// same number of strings.
func BenchmarkSearch(b *testing.B) {
	d := importDesk(b, vent.Customers)
	var rows strings.Builder
	rows.WriteString("run_ref,customer_name,address,unit_name,fuel\n")
	for i := range 50000 {
		fmt.Fprintf(&rows, "R%d,Customer %d,%d Heron Lane,%d,gas\n", i, i/40, i/20, i%20)
	}
	mustImport(b, d, 0, rows.String())
	if _, err := d.Search("x", 0, 1); err != nil {
		b.Fatal(err)
	}
	b.Run("warm", func(b *testing.B) {
		for b.Loop() {
			if h, err := d.Search("heron 17 2471", 0, 20); err != nil || h.Total == 0 {
				b.Fatal(h.Total, err)
			}
		}
	})
	b.Run("anew", func(b *testing.B) {
		for b.Loop() {
			d.finder.as = 0
			if _, err := d.Search("heron 17 2471", 0, 20); err != nil {
				b.Fatal(err)
			}
		}
	})
}
