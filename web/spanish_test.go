package web

import (
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ventdue/desk/intake"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// Every page of a full house, asked for in Spanish, is marked as Spanish and holds no English text of the catalogue or of
// the rules. Names that people gave, and the names of sources, are as they are; so is what the columns of an import mean,
// which is told in English alone.
func TestSpanishPagesHoldNoEnglish(t *testing.T) {
	h := newHouse(t, nil)
	scenes := h.busy()
	o := vent.Operator{Kind: vent.Customers, Name: "Ridge Vent Service", Zone: "America/New_York", Units: vent.US, Language: "es"}
	if err := h.desk.SetOperator(h.by(), o); err != nil {
		t.Fatal(err)
	}
	english := englishTexts()
	for _, s := range scenes {
		r := h.get(s.path)
		doc, err := html.Parse(strings.NewReader(r.body))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(r.body, `<html lang="es"`) {
			t.Errorf("%s is not marked as Spanish", s.name)
		}
		said := asTheyAre().Replace(readable(doc))
		for _, text := range english {
			if strings.Contains(said, text) {
				t.Errorf("%s says %q", s.name, text)
			}
		}
	}
}

// asTheyAre takes out what stands in English on every page.
func asTheyAre() *strings.Replacer {
	var out []string
	for _, r := range rules.Faults() {
		for _, s := range r.Sources {
			out = append(out, s.String(), "")
		}
	}
	for _, c := range intake.Columns() {
		out = append(out, c.Meaning, "")
	}
	return strings.NewReplacer(out...)
}

// englishTexts are the English texts longer than 12 letters that are not the same in Spanish. A text with blanks counts by
// its longest piece between them.
func englishTexts() []string {
	en, es := wording.For("en", vent.US), wording.For("es", vent.US)
	var all []string
	add := func(own, other string) {
		longest := ""
		for _, piece := range strings.FieldsFunc(own, func(r rune) bool { return r == '{' || r == '}' }) {
			if len(piece) > len(longest) {
				longest = piece
			}
		}
		if longest = strings.TrimSpace(longest); len(longest) > 12 && !strings.Contains(other, longest) {
			all = append(all, longest)
		}
	}
	for _, key := range wording.Keys() {
		add(en.Say(key), es.Say(key))
	}
	for _, r := range rules.Faults() {
		add(r.Looks, es.Rule(r.ID))
		add(r.Do, es.FaultDo(r.ID))
	}
	for _, c := range rules.Cautions() {
		add(c.Text, es.Warning(c.ID))
	}
	for _, s := range rules.Signs() {
		add(s.Looks, es.SignNoticed(s.Kind))
		add(s.Say, es.SignAdvice(s.Kind))
	}
	for _, p := range rules.Parts() {
		add(p.Healthy, es.PartHealthy(p.ID))
	}
	for _, l := range rules.CloseOut(vent.Gas) {
		add(l.Text, es.CloseLine(l.ID))
	}
	return all
}

// readable is what a page says: its text and the attributes that are read out or shown.
func readable(n *html.Node) string {
	var b strings.Builder
	for x := range n.Descendants() {
		switch {
		case x.Type == html.TextNode && x.Parent.Data != "style" && x.Parent.Data != "script":
			b.WriteString(x.Data + " ")
		case x.Type == html.ElementNode:
			for _, a := range x.Attr {
				if a.Key == "aria-label" || a.Key == "alt" || a.Key == "title" || a.Key == "placeholder" {
					b.WriteString(a.Val + " ")
				}
			}
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
