package picture

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rsc.io/qr"

	"ventdue/desk/wording"
	"ventdue/vent"
)

var en = wording.For("en", vent.US)

// Every sheet holds all its labels on the paper, and none on another. Margins by hand: three labels of 63.5 mm with 2.5 mm
// between them leave (210 - 195.5) / 2 = 7.25 mm of an A4 page on either side, seven of 38.1 mm (297 - 266.7) / 2 = 15.15 mm;
// ten of one inch leave half an inch of a letter page.
func TestSheetsHoldTheirLabels(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Sheets() {
		if seen[s.ID()] {
			t.Errorf("%s is there twice", s.ID())
		}
		seen[s.ID()] = true
		for n := range s.Each() {
			x, y := s.corner(n)
			if x < 0 || y < 0 || x+s.W > s.Width+1e-9 || y+s.H > s.Height+1e-9 {
				t.Errorf("%s: label %d at %v, %v is off the paper", s.ID(), n, x, y)
			}
			if n > 0 {
				if px, py := s.corner(n - 1); y < py || y == py && x < px+s.W {
					t.Errorf("%s: label %d lies on the one before", s.ID(), n)
				}
			}
		}
	}
	for id, want := range map[string][2]float64{"a4-3x7": {7.25, 15.15}, "letter-3x10": {4.7625, 12.7}} {
		for _, s := range Sheets() {
			if x, y := s.corner(0); s.ID() == id && (math.Abs(x-want[0]) > 1e-6 || math.Abs(y-want[1]) > 1e-6) {
				t.Errorf("%s begins at %v, %v, want %v", id, x, y, want)
			}
		}
	}
}

func someLabels(n int) (all []Label) {
	for i := range n {
		all = append(all, Label{Address: fmt.Sprintf("https://vents.example.com/s/AaITOIGAdjeJAAADvWO5EepkbMf8Od0Qv7dqKVFZ%03d", i),
			Lines: []string{fmt.Sprintf("Maple House, flat %d", i), "Smell of burning, or the CO alarm sounds: stop the dryer, leave, call the emergency number.", "Noticed something? Point a camera at the code.", "Ridge Vent Service, 555-0100"}})
	}
	return all
}

// Labels fill sheets one after the other; used places of the first sheet stay empty.
func TestLabelsFillSheets(t *testing.T) {
	sheet := Sheets()[0] // 21 labels
	for _, c := range []struct{ labels, skip, pages, first int }{{0, 0, 0, 0}, {1, 0, 1, 1}, {21, 0, 1, 21}, {22, 0, 2, 21}, {4, 20, 2, 1}, {1, 41, 1, 1}, {1, -3, 1, 1}} {
		pages, err := Print(en, sheet, someLabels(c.labels), c.skip)
		if err != nil || len(pages) != c.pages {
			t.Fatalf("%+v: %d pages, %v", c, len(pages), err)
		}
		total := 0
		for n, p := range pages {
			texts(t, p)
			codes := strings.Count(string(p), `shape-rendering`)
			if total += codes; n == 0 && codes != c.first {
				t.Errorf("%+v: %d labels on the first page", c, codes)
			}
		}
		if total != c.labels {
			t.Errorf("%+v: %d labels", c, total)
		}
	}
	if _, err := Print(en, sheet, []Label{{Address: strings.Repeat("long", 2000)}}, 0); err == nil {
		t.Error("an address that no code holds was drawn")
	}
}

var (
	codePath = regexp.MustCompile(`scale\(([0-9.]+)\)" d="([^"]+)"`)
	bar      = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-\d+z`)
)

// What is drawn is the code, module for module, with four modules of white round it (ISO/IEC 18004), and large enough for a
// camera: a third of a millimetre a module at the least (common practice, no source).
func TestCodeIsDrawnWhole(t *testing.T) {
	for _, sheet := range Sheets() {
		l := someLabels(1)
		pages, err := Print(en, sheet, l, 0)
		if err != nil {
			t.Fatal(err)
		}
		m := codePath.FindStringSubmatch(string(pages[0]))
		want, err := qr.Encode(l[0].Address, qr.M)
		if err != nil || m == nil {
			t.Fatalf("%v, %v", m, err)
		}
		drawn := map[[2]int]bool{}
		for _, b := range bar.FindAllStringSubmatch(m[2], -1) {
			x, _ := strconv.Atoi(b[1])
			y, _ := strconv.Atoi(b[2])
			n, _ := strconv.Atoi(b[3])
			for i := range n {
				drawn[[2]int{x + i, y}] = true
			}
		}
		for y := -quietZone; y < want.Size+quietZone; y++ {
			for x := -quietZone; x < want.Size+quietZone; x++ {
				if drawn[[2]int{x + quietZone, y + quietZone}] != want.Black(x, y) {
					t.Fatalf("%s: module %d, %d is wrong", sheet.ID(), x, y)
				}
			}
		}
		if module, err := strconv.ParseFloat(m[1], 64); err != nil || module < 0.33 {
			t.Errorf("%s: modules of %v mm", sheet.ID(), m[1])
		}
	}
}

// Whatever is written on a label stays on it and is text.
func TestLabelWordsStayOnIt(t *testing.T) {
	at := regexp.MustCompile(`<text x="([0-9.]+)" y="([0-9.]+)" font-size="([0-9.]+)"`)
	hostile := Label{Address: "https://vents.example.com/s/x", Lines: []string{"</text><script>alert(1)</script>", strings.Repeat("W", 400), strings.Repeat("very long words ", 60), "\u202e\x00", ""}}
	for _, sheet := range Sheets() {
		pages, err := Print(en, sheet, []Label{hostile}, 0)
		if err != nil {
			t.Fatal(err)
		}
		texts(t, pages[0])
		x0, y0 := sheet.corner(0)
		for _, m := range at.FindAllStringSubmatch(string(pages[0]), -1) {
			x, _ := strconv.ParseFloat(m[1], 64)
			y, _ := strconv.ParseFloat(m[2], 64)
			size, _ := strconv.ParseFloat(m[3], 64)
			if x < x0 || x > x0+sheet.W || y-size < y0-0.01 || y > y0+sheet.H || size < leastType-0.11 {
				t.Errorf("%s: words at %v, %v in type of %v mm are off the label at %v, %v", sheet.ID(), x, y, size, x0, y0)
			}
		}
	}
}
