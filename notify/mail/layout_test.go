package mail

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

func page() Page {
	return Page{
		Lang: "en", Title: "Clean the dryer vent at 12 Larkspur Lane, flat 3B", When: "By Tuesday 14 April 2026",
		Blocks: []Block{
			{Text: "The run is filling up: air speed fell from 9.1 to 6.4 m/s <since> March & \"June\"."},
			{Heading: "What is known", Facts: []Fact{{"Last cleaned", "12 March 2025"}, {"Length", "25 ft"}, {"Empty", ""}}},
			{Heading: "Before you start", Points: []string{"Unplug the dryer or switch off its breaker.", "Close the gas valve."}, Caution: true},
			{},
		},
		Button: &Button{Label: "Choose a day", URL: "https://vents.example.com/b/1?x=1&y=2"},
		Footer: []string{"You get this because you look after this dryer."},
		Links:  []Button{{Label: "Stop these reminders", URL: "https://vents.example.com/u/1"}},
	}
}

// document is what a reader of the HTML finds.
type document struct {
	root  *html.Node
	words []string       // of the body, in order
	links []string       // targets, in order
	count map[string]int // elements by name
}

func readHTML(t testing.TB, source string) document {
	t.Helper()
	root, err := html.Parse(strings.NewReader(source))
	if err != nil {
		t.Fatal(err)
	}
	d := document{root: root, count: map[string]int{}}
	for n := range root.Descendants() {
		switch n.Type {
		case html.TextNode:
			if n.Parent.Data != "title" {
				d.words = append(d.words, strings.Fields(n.Data)...)
			}
		case html.ElementNode:
			d.count[n.Data]++
			if n.Data == "a" {
				d.links = append(d.links, attr(n, "href"))
			}
		}
	}
	return d
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func TestLayoutText(t *testing.T) {
	text, _, err := Layout(page())
	if err != nil {
		t.Fatal(err)
	}
	const want = `Clean the dryer vent at 12 Larkspur Lane, flat 3B
By Tuesday 14 April 2026

The run is filling up: air speed fell from 9.1 to 6.4 m/s <since> March & "June".

What is known
Last cleaned: 12 March 2025
Length: 25 ft

Before you start
- Unplug the dryer or switch off its breaker.
- Close the gas valve.

Choose a day:
https://vents.example.com/b/1?x=1&y=2

-- 
You get this because you look after this dryer.
Stop these reminders: https://vents.example.com/u/1
`
	if text != want {
		t.Errorf("text:\n%s", text)
	}
}

// Text and HTML say the same: the words of the HTML are the words of the text, less bullets, colons and link
// targets, in the same order.
func TestLayoutSaysTheSame(t *testing.T) {
	text, source, err := Layout(page())
	if err != nil {
		t.Fatal(err)
	}
	doc := readHTML(t, source)
	var want []string
	for _, w := range strings.Fields(text) {
		if w != "-" && w != "--" && !strings.HasPrefix(w, "https:") {
			want = append(want, strings.TrimSuffix(w, ":"))
		}
	}
	var got []string
	for _, w := range doc.words {
		got = append(got, strings.TrimSuffix(w, ":"))
	}
	if !slices.Equal(got, want) {
		t.Errorf("HTML says\n%v\ntext says\n%v", got, want)
	}
	for _, link := range doc.links {
		if !strings.Contains(text, link) {
			t.Errorf("text lacks %s", link)
		}
	}
	if doc.count["img"]+doc.count["script"]+doc.count["link"]+doc.count["style"]+doc.count["table"] != 0 || strings.Contains(source, "url(") {
		t.Errorf("HTML loads or hides something: %v", doc.count)
	}
	for n := range doc.root.Descendants() {
		if n.Type == html.ElementNode && n.Data == "html" && attr(n, "lang") != "en" {
			t.Errorf("lang is %q", attr(n, "lang"))
		}
	}
}

var colour = regexp.MustCompile(`(background-)?color:#([0-9a-f]{6})`)

// Contrast of every text with the background it stands on, by the formula of WCAG 2.1 (relative luminance);
// 4.5:1 is its criterion 1.4.3.
func TestLayoutContrast(t *testing.T) {
	_, source, err := Layout(page())
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for n := range readHTML(t, source).root.Descendants() {
		if n.Type != html.TextNode || strings.TrimSpace(n.Data) == "" || n.Parent.Data == "title" {
			continue
		}
		var fore, back string
		for p := n.Parent; p != nil && (fore == "" || back == ""); p = p.Parent {
			for _, m := range colour.FindAllStringSubmatch(attr(p, "style"), -1) {
				switch {
				case m[1] != "" && back == "":
					back = m[2]
				case m[1] == "" && fore == "":
					fore = m[2]
				}
			}
		}
		a, b := luminance(t, fore), luminance(t, back)
		if ratio := (max(a, b) + 0.05) / (min(a, b) + 0.05); ratio < 4.5 {
			t.Errorf("%q: #%s on #%s is %.1f:1", n.Data, fore, back, ratio)
		}
		seen++
	}
	if seen < 10 {
		t.Errorf("only %d texts seen", seen)
	}
	// Anchor of the formula: black on white is 21:1.
	if r := (luminance(t, "ffffff") + 0.05) / (luminance(t, "000000") + 0.05); math.Abs(r-21) > 1e-9 {
		t.Errorf("black on white: %v", r)
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatalf("colour %q", hex)
	}
	linear := func(c uint64) float64 {
		s := float64(c&255) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(v>>16) + 0.7152*linear(v>>8) + 0.0722*linear(v)
}

func TestLayoutRefuses(t *testing.T) {
	for want, spoil := range map[string]func(*Page){
		"Lang":   func(p *Page) { p.Lang = "" },
		"Title":  func(p *Page) { p.Title = "\n" },
		"Button": func(p *Page) { p.Button.URL = "javascript:alert(1)" },
		"Label":  func(p *Page) { p.Button.Label = " " },
		"Links":  func(p *Page) { p.Links[0].URL = "/u/1" },
	} {
		p := page()
		spoil(&p)
		if _, _, err := Layout(p); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v", want, err)
		}
	}
}

func TestLayoutLeavesItsInputAlone(t *testing.T) {
	p := page()
	p.Footer = append(make([]string, 0, 8), "one")
	p.Blocks[0].Text = " spaced \n out "
	if _, _, err := Layout(p); err != nil {
		t.Fatal(err)
	}
	if p.Blocks[0].Text != " spaced \n out " || len(p.Blocks) != 4 {
		t.Errorf("input was changed: %+v", p)
	}
}
