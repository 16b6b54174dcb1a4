package picture

import (
	"fmt"
	"strconv"
	"strings"

	"rsc.io/qr"

	"ventdue/desk/wording"
)

// Sheet is a page of equal labels. Lengths are in millimetres; the labels stand in the middle of the paper.
type Sheet struct {
	Name          string // of the paper: "a4", "letter"
	Width, Height float64
	Columns, Rows int
	W, H          float64 // of one label
	GapX, GapY    float64 // between two labels
}

const inch = 25.4

// Sheets lists the sheets that labels are printed on: usual sizes of blank label sheets, common practice, no source.
func Sheets() []Sheet {
	a4 := func(columns, rows int, w, h, gapX, gapY float64) Sheet {
		return Sheet{"a4", 210, 297, columns, rows, w, h, gapX, gapY}
	}
	letter := func(columns, rows int, w, h, gapX, gapY float64) Sheet {
		return Sheet{"letter", 8.5 * inch, 11 * inch, columns, rows, w * inch, h * inch, gapX * inch, gapY * inch}
	}
	return []Sheet{
		a4(3, 7, 63.5, 38.1, 2.5, 0), a4(2, 7, 99.1, 38.1, 2.5, 0), a4(2, 4, 99.1, 67.7, 2.5, 0), a4(1, 2, 199.6, 143.5, 0, 0),
		letter(3, 10, 2.625, 1, 0.125, 0), letter(2, 5, 4, 2, 0.1875, 0), letter(2, 3, 4, 3+1.0/3, 0.1875, 0), letter(1, 2, 8, 5, 0, 0),
	}
}

// ID names the sheet in an address: "a4-3x7".
func (s Sheet) ID() string { return fmt.Sprintf("%s-%dx%d", s.Name, s.Columns, s.Rows) }

// Each is how many labels a sheet has.
func (s Sheet) Each() int { return s.Columns * s.Rows }

// corner gives the upper left corner of the n-th label.
func (s Sheet) corner(n int) (x, y float64) {
	left := (s.Width - float64(s.Columns)*s.W - float64(s.Columns-1)*s.GapX) / 2
	top := (s.Height - float64(s.Rows)*s.H - float64(s.Rows-1)*s.GapY) / 2
	return left + float64(n%s.Columns)*(s.W+s.GapX), top + float64(n/s.Columns)*(s.H+s.GapY)
}

// Label is what stands on one label: the address as a code for a camera, and words beside it, the most important first.
// The first line is set in bold.
type Label struct {
	Address string
	Lines   []string
}

// Print draws labels onto sheets, one SVG each in the paper's size, after skipping the labels of the first sheet that
// were used already. Black on white, whatever the page's colours are. The error says that an address is too long for a code.
func Print(w wording.Words, sheet Sheet, labels []Label, skip int) (pages [][]byte, err error) {
	skip = max(0, skip) % sheet.Each()
	for at := skip; at < skip+len(labels); {
		page := svg{}
		page.put(`<svg xmlns="http://www.w3.org/2000/svg" class="labels labels-%s" width="%vmm" height="%vmm" viewBox="0 0 %v %v" role="img" lang="%s" font-family="system-ui, sans-serif" fill="#000">`,
			sheet.Name, fine(sheet.Width), fine(sheet.Height), fine(sheet.Width), fine(sheet.Height), w.Lang)
		page.put("<title>")
		page.escaped(w.Say("picture.labels", "n", fmt.Sprint(len(pages)+1)))
		page.put("</title>\n" + `<rect width="100%%" height="100%%" fill="#fff"/>` + "\n")
		for n := at % sheet.Each(); n < sheet.Each() && at < skip+len(labels); n++ {
			x, y := sheet.corner(n)
			if err := page.label(labels[at-skip], x, y, sheet.W, sheet.H); err != nil {
				return nil, fmt.Errorf("draw a label: %w", err)
			}
			at++
		}
		page.put("</svg>\n")
		pages = append(pages, page.b.Bytes())
	}
	return pages, nil
}

// fine writes a length to a hundredth of a millimetre.
func fine(v float64) string { return fmt.Sprintf("%.2f", v) }

// The measures of a label, in millimetres.
const (
	labelEdge   = 1.5  // printers miss the edge by as much
	largestCode = 45.0 // side of the code with its margin
	largestType = 4.2
	leastType   = 1.9 // about 5.4 points
	quietZone   = 4   // modules of white round a code, ISO/IEC 18004 section 5.3.8
)

// label draws one label: the code on the left, the words beside it in the largest type that holds them.
func (s *svg) label(l Label, x, y, w, h float64) error {
	side := min(h-2*labelEdge, w*0.45, largestCode)
	if err := s.code(l.Address, x+labelEdge, y+(h-side)/2, side); err != nil {
		return err
	}
	left, room := x+labelEdge+side+1, w-side-2*labelEdge-1
	size := largestType
	lines := wrapped(l.Lines, room, size)
	for size > leastType && float64(len(lines))*size*1.25 > h-2*labelEdge {
		size -= 0.1
		lines = wrapped(l.Lines, room, size)
	}
	lines = lines[:min(len(lines), int((h-2*labelEdge)/(size*1.25)))]
	at := y + (h-float64(len(lines))*size*1.25)/2 + size
	for _, line := range lines {
		s.put(`<text x="%s" y="%s" font-size="%s"`, fine(left), fine(at), fine(size))
		if line.strong {
			s.put(` font-weight="bold"`)
		}
		s.put(">")
		s.escaped(line.words)
		s.put("</text>\n")
		at += size * 1.25
	}
	return nil
}

// code draws an address as a QR code (ISO/IEC 18004) with its margin into a square of that side.
func (s *svg) code(address string, x, y, side float64) error {
	c, err := qr.Encode(address, qr.M)
	if err != nil {
		return fmt.Errorf("address %q: %w", address, err)
	}
	module := side / float64(c.Size+2*quietZone)
	s.put(`<path shape-rendering="crispEdges" transform="translate(%s %s) scale(%s)" d="`, fine(x), fine(y), strconv.FormatFloat(module, 'f', 5, 64))
	for row := range c.Size {
		for col := 0; col < c.Size; col++ {
			n := 0
			for col+n < c.Size && c.Black(col+n, row) {
				n++
			}
			if n > 0 {
				s.put("M%d %dh%dv1h-%dz", col+quietZone, row+quietZone, n, n)
				col += n
			}
		}
	}
	s.put(`"/>` + "\n")
	return nil
}

type labelLine struct {
	words  string
	strong bool
}

// wrapped breaks lines between words so that each holds in the room; a word that is longer is cut.
func wrapped(lines []string, room, size float64) (all []labelLine) {
	most := room / size * fontSize // breadth speaks of the picture's own type
	for n, line := range lines {
		strong := n == 0
		scale := 1.06
		if strong {
			scale = 1.18
		}
		now := ""
		for _, word := range strings.Fields(line) {
			for breadth(word)*scale > most {
				cut := cutAt(word, most/scale)
				if now != "" {
					all, now = append(all, labelLine{now, strong}), ""
				}
				all, word = append(all, labelLine{word[:cut], strong}), word[cut:]
			}
			if next := strings.TrimSpace(now + " " + word); breadth(next)*scale <= most {
				now = next
				continue
			}
			all, now = append(all, labelLine{now, strong}), word
		}
		if now != "" {
			all = append(all, labelLine{now, strong})
		}
	}
	return all
}

// cutAt gives how many bytes of a word hold in the room, one letter at least.
func cutAt(word string, most float64) int {
	cut := 0
	for i, r := range word {
		if end := i + len(string(r)); cut == 0 || breadth(word[:end]) <= most {
			cut = end
		}
	}
	return max(cut, 1)
}
