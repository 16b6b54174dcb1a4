package mail

import (
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"net/url"
	"strings"
)

// Page is the content of a letter before it is text or HTML. Every string is one line of plain words in the
// language of the page; line breaks, control characters and markup in it have no effect.
type Page struct {
	Lang   string   // language tag (BCP 47), required
	Title  string   // the action, in a few words; required, comes first
	When   string   // the date, comes second; may be empty
	Blocks []Block  // what follows, in order
	Button *Button  // the one thing to press; may be nil
	Footer []string // small print: why this came, who sent it
	Links  []Button // small links below it, such as the one that stops these letters
}

// Block is a paragraph, with any of a heading, facts and points. Empty parts are left out.
type Block struct {
	Heading string
	Text    string
	Facts   []Fact   // label and value pairs
	Points  []string // bullet points
	Caution bool     // set apart, for safety
}

// Fact is one labelled value, such as "Last cleaned" and "12 March 2025".
type Fact struct{ Label, Value string }

// Button is a link made easy to press.
type Button struct {
	Label string
	URL   string // http or https
}

//go:embed layout.tmpl
var layoutSource string

var layoutTemplate = template.Must(template.New("layout").Parse(layoutSource))

// Layout writes the page as plain text and as an HTML document. Both are made from the same parts in the same
// order, so they say the same. The HTML needs no images, scripts or outside files, and reads in order with its
// styles stripped. It fails when Lang, Title or a part of a link is missing or not well formed.
func Layout(p Page) (text, html string, err error) {
	if p, err = p.clean(); err != nil {
		return "", "", fmt.Errorf("lay out letter: %w", err)
	}
	var out strings.Builder
	if err := layoutTemplate.Execute(&out, p); err != nil {
		return "", "", fmt.Errorf("lay out letter: %w", err)
	}
	return p.text(), out.String(), nil
}

// clean returns the page with every string on one line, empty parts gone, and checks what must be there.
func (p Page) clean() (Page, error) {
	var err error
	if p.Lang, err = cleanLang(p.Lang); err != nil {
		return Page{}, fmt.Errorf("field Lang: %w", err)
	}
	p.Title, p.When, p.Footer = cleanLine(p.Title), cleanLine(p.When), cleanLines(p.Footer)
	if p.Title == "" {
		return Page{}, errors.New("field Title is empty")
	}
	blocks := make([]Block, 0, len(p.Blocks))
	for _, b := range p.Blocks {
		b.Heading, b.Text, b.Points, b.Facts = cleanLine(b.Heading), cleanLine(b.Text), cleanLines(b.Points), cleanFacts(b.Facts)
		if b.Heading != "" || b.Text != "" || len(b.Points) > 0 || len(b.Facts) > 0 {
			blocks = append(blocks, b)
		}
	}
	p.Blocks = blocks
	if p.Button != nil {
		b, err := p.Button.clean()
		if err != nil {
			return Page{}, fmt.Errorf("field Button: %w", err)
		}
		p.Button = &b
	}
	links := make([]Button, len(p.Links))
	for i, l := range p.Links {
		if links[i], err = l.clean(); err != nil {
			return Page{}, fmt.Errorf("field Links: %w", err)
		}
	}
	p.Links = links
	return p, nil
}

func (b Button) clean() (Button, error) {
	b.Label = cleanLine(b.Label)
	u, err := url.Parse(b.URL)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.User != nil || strings.ContainsFunc(b.URL, unsafeRune) {
		return Button{}, fmt.Errorf("its URL %.80q is not an http or https address", b.URL)
	}
	if b.Label == "" {
		return Button{}, errors.New("its Label is empty")
	}
	b.URL = u.String()
	return b, nil
}

func cleanLines(list []string) []string {
	var kept []string
	for _, s := range list {
		if s = cleanLine(s); s != "" {
			kept = append(kept, s)
		}
	}
	return kept
}

// cleanFacts drops facts without a value.
func cleanFacts(list []Fact) []Fact {
	var kept []Fact
	for _, f := range list {
		f.Label, f.Value = cleanLine(f.Label), cleanLine(f.Value)
		if f.Value != "" {
			kept = append(kept, f)
		}
	}
	return kept
}

// text writes a cleaned page as plain text: paragraphs on one line each (mail programs wrap them), a blank
// line between.
func (p Page) text() string {
	var paragraphs []string
	add := func(lines ...string) {
		if s := strings.Join(cleanLines(lines), "\n"); s != "" {
			paragraphs = append(paragraphs, s)
		}
	}
	add(p.Title, p.When)
	for _, b := range p.Blocks {
		lines := []string{b.Heading, b.Text}
		for _, f := range b.Facts {
			lines = append(lines, strings.TrimPrefix(f.Label+": "+f.Value, ": "))
		}
		for _, s := range b.Points {
			lines = append(lines, "- "+s)
		}
		add(lines...)
	}
	if p.Button != nil {
		add(p.Button.Label+":", p.Button.URL)
	}
	small := p.Footer
	for _, l := range p.Links {
		small = append(small, l.Label+": "+l.URL)
	}
	if len(small) > 0 {
		// "-- " with its space marks what follows as small print (RFC 3676 4.3).
		paragraphs = append(paragraphs, "-- \n"+strings.Join(small, "\n"))
	}
	return strings.Join(paragraphs, "\n\n") + "\n"
}
