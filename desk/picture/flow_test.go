package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ventdue/desk/wording"
	"ventdue/scheduler"
	"ventdue/scheduler/lint"
	"ventdue/vent"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func day(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func reading(on string, q vent.Quantity, value, share float64, after bool) lint.Measured {
	return lint.Measured{On: day(on), Share: share, After: after, Reading: vent.Reading{Quantity: q, Value: value}}
}

// falling is a fan that falls evenly from all of the flow to the three shares.
func falling(from, to string, low, middle, high float64) (all []lint.Future) {
	a, b := day(from), day(to)
	for i := range 13 {
		t := float64(i) / 12
		all = append(all, lint.Future{On: a.AddDays(a.DaysUntil(b) * i / 12), Low: 1 - t*(1-low), Middle: 1 - t*(1-middle), High: 1 - t*(1-high)})
	}
	return all
}

// maple is a run with two measured cycles.
func maple() Flow {
	return Flow{Where: "Maple House, 3B", Today: day("2026-11-25"), Course: scheduler.Course{
		Since: day("2026-06-10"), CleanSpeed: 7.62, Limit: 0.75, LimitKind: vent.LimitFlow,
		Readings: []lint.Measured{
			reading("2024-06-03", vent.AirSpeed, 5.9, 0.77, false), reading("2024-06-03", vent.AirSpeed, 7.5, 0.98, true),
			reading("2025-06-05", vent.AirSpeed, 6.3, 0.83, false), reading("2025-06-05", vent.Static, 130, 0.85, false), reading("2025-06-05", vent.AirSpeed, 7.7, 1.01, true),
			reading("2026-06-10", vent.Flow, 0.05, 0.8, false), reading("2026-06-10", vent.AirSpeed, 7.6, 1, true),
		},
		Cleanings: []scheduler.Cleaning{{On: day("2024-06-03"), Outcome: vent.Full}, {On: day("2025-06-05"), Outcome: vent.Partial}, {On: day("2026-06-10"), Outcome: vent.Full}},
		Likely:    falling("2026-06-10", "2028-06-10", 0.5, 0.74, 0.9),
		Due:       &scheduler.CleanDue{Day: day("2027-06-12"), Earliest: day("2027-05-13"), Latest: day("2027-07-12")},
	}}
}

func decades() Flow {
	f := maple()
	f.Course.Readings, f.Course.Cleanings = nil, nil
	first := day("2009-05-20")
	for n := range 100 {
		on := first.AddDays(n * 62)
		f.Course.Readings = append(f.Course.Readings,
			lint.Measured{On: on, Share: 0.78 + 0.1*math.Sin(float64(n)), Reading: vent.Reading{Quantity: vent.AirSpeed, Value: 6}},
			lint.Measured{On: on, Share: 0.97, After: true, Reading: vent.Reading{Quantity: vent.Static, Value: 100}})
		f.Course.Cleanings = append(f.Course.Cleanings, scheduler.Cleaning{On: on, Outcome: vent.Full})
	}
	return f
}

func cases() map[string]Flow {
	hostile := maple()
	hostile.Where = "</title><script>alert(1)</script> & \"quotes\" 'x' ]]> \u202etxet\u202c \x00\x1b[31m \xff"
	hostile.Course.Cleanings[0].Outcome = "<b>"
	never := Flow{Where: "Cedar Court, 1A", Today: day("2026-11-25"), Course: scheduler.Course{Since: day("2026-11-20"), CleanSpeed: 7.2, Limit: 0.75,
		Likely: falling("2026-11-20", "2027-11-20", 0.3, 0.6, 0.9), Due: &scheduler.CleanDue{Day: day("2026-12-04"), Earliest: day("2026-11-20"), Latest: day("2026-12-18"), Unknown: true}}}
	ended := maple()
	ended.Course.Likely, ended.Course.Due, ended.Today = nil, nil, 0
	alone := maple()
	alone.Alone, alone.Today = true, 0
	return map[string]Flow{"maple": maple(), "decades": decades(), "hostile": hostile, "never": never, "ended": ended, "alone": alone, "empty": {}}
}

// The golden files were read by eye, in a browser at 390 and at 1280 px.
func TestGolden(t *testing.T) {
	for name, f := range cases() {
		for _, w := range []wording.Words{wording.For("en", vent.US), wording.For("es", vent.SI)} {
			file := filepath.Join("testdata", name+"."+w.Lang+".svg")
			got := f.SVG(w)
			if *update {
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatalf("%v; -update writes it", err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("%s differs from what it was: look at it, then -update", file)
			}
		}
	}
}

// texts reads a picture as XML and gives what is written in it, by element.
func texts(t *testing.T, picture []byte) map[string][]string {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(picture))
	all, open := map[string][]string{}, []string{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, picture)
		}
		switch x := token.(type) {
		case xml.StartElement:
			open = append(open, x.Name.Local)
			for _, a := range x.Attr {
				if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") || a.Name.Local == "style" || a.Name.Local == "href" {
					t.Errorf("<%s %s>: nothing runs, and no style stands in an attribute", x.Name.Local, a.Name.Local)
				}
			}
			if n := x.Name.Local; n == "script" || n == "style" || n == "image" || n == "foreignObject" {
				t.Errorf("<%s> has no place in a picture", n)
			}
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 && strings.TrimSpace(string(x)) != "" {
				name := open[len(open)-1]
				all[name] = append(all[name], string(x))
			}
		}
	}
}

// missing is a text that no catalogue has.
var missing = regexp.MustCompile(`picture\.[a-z]`)

func TestWellFormedAndTold(t *testing.T) {
	for name, f := range cases() {
		picture := f.SVG(wording.For("en", vent.US))
		said := texts(t, picture)
		if len(said["title"]) == 0 || len(said["desc"]) != 1 {
			t.Errorf("%s: title %q, desc %q", name, said["title"], said["desc"])
		}
		if bytes.Contains(picture, []byte("NaN")) || bytes.Contains(picture, []byte("Inf")) || missing.Match(picture) {
			t.Errorf("%s holds a figure or a word that is none:\n%s", name, picture)
		}
		if name == "hostile" && (!strings.Contains(said["title"][0], "<script>") || strings.ContainsAny(said["title"][0], "\u202e\x1b")) {
			t.Errorf("a name is text, without what turns or colours it: %q", said["title"][0])
		}
	}
}

func TestSaysWhatItShows(t *testing.T) {
	said := maple().Text(wording.For("en", vent.US))
	// 7.6 m/s is 1 496 ft/min (0.00508 m/s to one ft/min).
	for _, want := range []string{"1496", "100 %", "falls below 75 %", "12 June 2027", "13 May 2027", "12 July 2027"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is missing in: %s", want, said)
		}
	}
	old := decades().Text(wording.For("en", vent.US))
	if !strings.Contains(old, "left out of the picture") {
		t.Errorf("what is left out is not told: %s", old)
	}
}

// Where a day and a share stand, by hand: the frame is 348 wide from 42 on and 180 high down to 214.
func TestPlaces(t *testing.T) {
	p := &plot{from: day("2026-01-01"), to: day("2026-04-11"), low: 0.5, up: 1} // 100 days
	for _, c := range []struct {
		on   string
		want float64
	}{{"2026-01-01", 42}, {"2026-02-20", 216}, {"2026-04-11", 390}, {"2025-01-01", 42}, {"2030-01-01", 390}} {
		if got := p.x(day(c.on)); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s stands at %v, not %v", c.on, got, c.want)
		}
	}
	for share, want := range map[float64]float64{0.5: 214, 0.75: 124, 1: 34, 0: 214, 2: 34} {
		if got := p.y(share); math.Abs(got-want) > 1e-9 {
			t.Errorf("share %v stands at %v, not %v", share, got, want)
		}
	}
}

var limitLine = regexp.MustCompile(`class="flow-limit"[^>]* d="M42 ([0-9.]+)H390"`)

// The limit's line lies inside the frame whatever the limit is, and words stay inside the picture.
func TestInsideTheFrame(t *testing.T) {
	for _, limit := range []float64{0.05, 0.3, 0.6, 0.75, 0.9, 0.999, 1} {
		f := maple()
		f.Course.Limit = limit
		m := limitLine.FindSubmatch(f.SVG(wording.For("en", vent.US)))
		if m == nil {
			t.Fatalf("limit %v has no line", limit)
		}
		if y, err := strconv.ParseFloat(string(m[1]), 64); err != nil || y <= top || y >= bottom {
			t.Errorf("limit %v: its line stands at %s, outside of the frame from %v to %v", limit, m[1], top, bottom)
		}
	}
	at := regexp.MustCompile(`<text x="([0-9.-]+)" y="([0-9.-]+)"`)
	for name, f := range cases() {
		for _, m := range at.FindAllSubmatch(f.SVG(wording.For("es", vent.SI)), -1) {
			if x, err := strconv.ParseFloat(string(m[1]), 64); err != nil || x < 0 || x > width {
				t.Errorf("%s: words at x %s", name, m[1])
			}
		}
	}
}
