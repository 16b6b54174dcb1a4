package web

import (
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// voids are the elements without an end (HTML Living Standard, section 13.1.2).
var voids = strings.Fields("area base br col embed hr img input link meta source track wbr path circle rect")

// missingText is a catalogue key that was shown instead of its text.
var missingText = regexp.MustCompile(`\bpage\.[a-z_]+[.a-z_0-9]*|\b(state|what|reason|sign|caution|limit|away)\.[a-z_]+\b`)

// checkPage holds a page against what every page of ours must be: well nested, labelled, free of anything that
// runs or is styled in place, and without a reference to another site.
func checkPage(t *testing.T, name, page string) {
	t.Helper()
	c := pageCheck{t: t, name: name, ids: map[string]bool{}}
	z := html.NewTokenizer(strings.NewReader(page))
	for {
		kind := z.Next()
		if kind == html.ErrorToken {
			if !errors.Is(z.Err(), io.EOF) {
				t.Errorf("%s: %v", name, z.Err())
			}
			break
		}
		c.token(z.Token())
	}
	c.end()
}

type pageCheck struct {
	t        *testing.T
	name     string
	open     []string
	ids      map[string]bool
	inputs   []string // ids of inputs that need a label
	labelled []string
	refs     []string // ids that something points at
	h1       int
	lang     bool
}

func (c *pageCheck) token(x html.Token) {
	switch x.Type {
	case html.StartTagToken, html.SelfClosingTagToken:
		c.start(x)
	case html.EndTagToken:
		if len(c.open) == 0 || c.open[len(c.open)-1] != x.Data {
			c.t.Errorf("%s: </%s> closes %v", c.name, x.Data, c.open)
			return
		}
		c.open = c.open[:len(c.open)-1]
	case html.TextToken:
		if m := missingText.FindString(x.Data); m != "" && !strings.Contains(x.Data, "ventdue") {
			c.t.Errorf("%s: a key instead of its text: %q", c.name, m)
		}
	}
}

func (c *pageCheck) start(x html.Token) {
	at := map[string]string{}
	for _, a := range x.Attr {
		if _, twice := at[a.Key]; twice {
			c.t.Errorf("%s: <%s> has %s twice", c.name, x.Data, a.Key)
		}
		at[a.Key] = a.Val
		if strings.HasPrefix(a.Key, "on") || a.Key == "style" {
			c.t.Errorf("%s: <%s %s=%q> is inline", c.name, x.Data, a.Key, a.Val)
		}
		if a.Key == "href" || a.Key == "src" || a.Key == "action" {
			if strings.Contains(a.Val, "ZgotmplZ") || !strings.HasPrefix(a.Val, "/") && !strings.HasPrefix(a.Val, "#") && !strings.HasPrefix(a.Val, "webcal://") && !strings.HasPrefix(a.Val, "geo:") || strings.HasPrefix(a.Val, "//") {
				c.t.Errorf("%s: <%s %s=%q> leads elsewhere", c.name, x.Data, a.Key, a.Val)
			}
		}
	}
	if id, ok := at["id"]; ok {
		if c.ids[id] {
			c.t.Errorf("%s: id %q is there twice", c.name, id)
		}
		c.ids[id] = true
	}
	for _, key := range []string{"aria-describedby", "aria-labelledby"} {
		if v := at[key]; v != "" {
			c.refs = append(c.refs, strings.Fields(v)...)
		}
	}
	switch x.Data {
	case "img":
		if _, named := at["alt"]; !named || !strings.Contains(at["src"], "/photos/") {
			c.t.Errorf("%s: <img src=%q> is no photo of ours, or says nothing to whoever cannot see it", c.name, at["src"])
		}
	case "script":
		if !strings.Contains(at["src"], "/static/") {
			c.t.Errorf("%s: a script that is no file of ours: %q", c.name, at["src"])
		}
	case "style", "iframe", "object", "embed", "base":
		c.t.Errorf("%s: <%s> has no place on a page", c.name, x.Data)
	case "html":
		c.lang = at["lang"] != ""
	case "h1":
		c.h1++
	case "label":
		if at["for"] != "" {
			c.labelled = append(c.labelled, at["for"])
		}
	case "input", "textarea", "select":
		if at["type"] != "hidden" && !slices.Contains(c.open, "label") {
			c.inputs = append(c.inputs, at["id"])
		}
	}
	if x.Type == html.StartTagToken && !slices.Contains(voids, x.Data) {
		c.open = append(c.open, x.Data)
	}
}

func (c *pageCheck) end() {
	if len(c.open) > 0 {
		c.t.Errorf("%s: never closed: %v", c.name, c.open)
	}
	for _, id := range c.inputs {
		if !slices.Contains(c.labelled, id) {
			c.t.Errorf("%s: input %q has no label", c.name, id)
		}
	}
	for _, id := range append(c.labelled, c.refs...) {
		if !c.ids[id] {
			c.t.Errorf("%s: something points at %q, which is not there", c.name, id)
		}
	}
	if c.h1 != 1 || !c.lang {
		c.t.Errorf("%s: %d h1, lang %v", c.name, c.h1, c.lang)
	}
}

// text gives what a page says, in one line.
func text(page string) string {
	z := html.NewTokenizer(strings.NewReader(page))
	var b strings.Builder
	for z.Next() != html.ErrorToken {
		if x := z.Token(); x.Type == html.TextToken {
			b.WriteString(x.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func wantText(t *testing.T, page string, want ...string) {
	t.Helper()
	said := text(page)
	for _, w := range want {
		if !strings.Contains(said, w) {
			t.Errorf("the page does not say %q:\n%s", w, said)
		}
	}
}

func wantNoText(t *testing.T, page string, unwanted ...string) {
	t.Helper()
	for _, w := range unwanted {
		if strings.Contains(page, w) {
			t.Errorf("the page says %q", w)
		}
	}
}
