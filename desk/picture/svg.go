package picture

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// svg writes elements. Whatever a person named passes through text, element names and attributes are ours.
type svg struct{ b bytes.Buffer }

// put writes markup with figures in it: float64 with one decimal at most.
func (s *svg) put(format string, args ...any) {
	for i, a := range args {
		if v, ok := a.(float64); ok {
			args[i] = short(v)
		}
	}
	fmt.Fprintf(&s.b, format, args...)
}

func short(v float64) string {
	t := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(t, ".0")
}

// escaped writes text. Control characters, and those that turn the direction of what follows, are no part of a name.
func (s *svg) escaped(text string) {
	clean := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0x200e, r == 0x200f, r == 0x061c:
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	_ = xml.EscapeText(&s.b, []byte(clean)) // a buffer takes everything
}

// told wraps a mark into a group that says what it is where a pointer rests on it.
func (s *svg) told(text string, mark func()) {
	s.put("<g><title>")
	s.escaped(text)
	s.put("</title>")
	mark()
	s.put("</g>\n")
}

// text writes words; class may be "".
func (s *svg) text(x, y float64, anchor, class, words string) {
	s.put(`<text x="%v" y="%v" text-anchor="%s"`, x, y, anchor)
	if class != "" {
		s.put(` class="%s"`, class)
	}
	s.put(` fill="currentColor" stroke="none">`)
	s.escaped(words)
	s.put("</text>\n")
}

// breadth estimates how wide words are set, in the picture's units, for an ordinary font without serifs.
func breadth(words string) float64 {
	n := 0.0
	for _, r := range words {
		switch {
		case strings.ContainsRune("ijlftrI.,:;'|()·-  ", r):
			n += 0.36
		case r == 'm' || r == 'w' || r == 'M' || r == 'W' || r == '%':
			n += 0.88
		case r > 0x2e80:
			n += 1.05
		case unicode.IsUpper(r):
			n += 0.68
		default:
			n += 0.56
		}
	}
	return n * fontSize
}

func (p *plot) open(title, desc string) {
	height := p.below + p.legendHeight() + 6
	p.put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %v %v"`, width, height)
	if p.Alone {
		p.put(` width="%v" height="%v" color="#191d1e"`, width*2, height*2)
	}
	p.put(` class="flow" role="img" aria-labelledby="flow-title flow-desc" lang="%s" font-family="system-ui, sans-serif" font-size="%d" fill="none" stroke="currentColor" stroke-width="1">`+"\n",
		p.w.Lang, fontSize)
	p.put(`<title id="flow-title">`)
	p.escaped(title)
	p.put("</title>\n" + `<desc id="flow-desc">`)
	p.escaped(desc)
	p.put("</desc>\n")
	if p.Alone {
		p.put(`<rect width="%v" height="%v" fill="#fff" stroke="none"/>`+"\n", width, height)
	}
}

func (p *plot) close() []byte {
	p.put("</svg>\n")
	return p.b.Bytes()
}
