package web

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// Every text is read on its ground with a contrast of 4.5 at least (WCAG 2.2, success criterion 1.4.3), in light and dark
// and on paper; the ratio is computed by its definition there.
func TestContrast(t *testing.T) {
	sheet, err := files.ReadFile("static/style.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(string(sheet), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d sets of colours", len(blocks))
	}
	pairs := [][2]string{{"ink", "bg"}, {"ink", "paper"}, {"ink", "wash"}, {"soft", "bg"}, {"soft", "paper"}, {"soft", "wash"},
		{"accent", "bg"}, {"accent", "paper"}, {"accent", "wash"}, {"on-accent", "accent"}, {"paper", "ink"}}
	for i, b := range blocks {
		colours := map[string]string{"on-accent": "#fff"}
		for _, m := range regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]+)`).FindAllStringSubmatch(b[1], -1) {
			colours[m[1]] = m[2]
		}
		for _, p := range pairs {
			if r := contrast(luminance(t, colours[p[0]]), luminance(t, colours[p[1]])); r < 4.5 {
				t.Errorf("set %d: %s on %s has a contrast of %.2f", i, p[0], p[1], r)
			}
		}
	}
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	if len(colour) == 4 {
		colour = "#" + colour[1:2] + colour[1:2] + colour[2:3] + colour[2:3] + colour[3:4] + colour[3:4]
	}
	v, err := strconv.ParseUint(colour[1:], 16, 24)
	if err != nil {
		t.Fatalf("colour %q: %v", colour, err)
	}
	part := func(shift uint) float64 {
		c := float64(v>>shift&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*part(16) + 0.7152*part(8) + 0.0722*part(0)
}
