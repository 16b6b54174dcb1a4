package desk

import (
	"image"
	"image/draw"
)

// MaxPhotoSide is how many pixels the longer side of a kept photo has at most: a screw's thread can be told, and a year of
// visits fits a small machine's card.
const MaxPhotoSide = 2048

// shrunk makes a picture smaller whose longer side has more than most pixels, in proportion; others stay as they are. Every
// pixel is the mean of those that it stands for. Rows are read band by band, so that a large photo is never in memory twice.
func shrunk(m image.Image, most int) image.Image {
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	if w <= most && h <= most {
		return m
	}
	width, height := max(1, w*most/max(w, h)), max(1, h*most/max(w, h))
	small := image.NewRGBA(image.Rect(0, 0, width, height))
	band := image.NewRGBA(image.Rect(0, 0, w, h/height+1))
	for y := range height {
		from, to := y*h/height, (y+1)*h/height
		rows := band.SubImage(image.Rect(0, 0, w, to-from)).(*image.RGBA)
		draw.Draw(rows, rows.Bounds(), m, image.Pt(b.Min.X, b.Min.Y+from), draw.Src)
		for x := range width {
			mean(small.Pix[small.PixOffset(x, y):][:4], rows, x*w/width, (x+1)*w/width)
		}
	}
	return small
}

// mean writes the mean colour of some columns.
func mean(into []uint8, m *image.RGBA, from, to int) {
	var sum [4]uint64
	rows := m.Rect.Dy()
	for y := range rows {
		for p := m.Pix[m.PixOffset(from, y):m.PixOffset(to, y)]; len(p) >= 4; p = p[4:] {
			for i := range sum {
				sum[i] += uint64(p[i])
			}
		}
	}
	n := uint64(rows * (to - from))
	for i := range sum {
		into[i] = uint8((sum[i] + n/2) / n)
	}
}
