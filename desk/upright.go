package desk

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
)

// orientation gives how a camera says that a jpeg must be turned to stand upright, 1 to 8 (Exif 2.3, tag 0x0112); 1 where it
// says nothing that can be read.
func orientation(jpeg []byte) int {
	for at := 2; at+4 <= len(jpeg) && jpeg[at] == 0xff; {
		size := int(binary.BigEndian.Uint16(jpeg[at+2:]))
		if size < 2 || at+2+size > len(jpeg) || jpeg[at+1] == 0xda { // the picture itself begins
			return 1
		}
		body := jpeg[at+4 : at+2+size]
		if exif, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok && jpeg[at+1] == 0xe1 {
			return exifOrientation(exif)
		}
		at += 2 + size
	}
	return 1
}

// exifOrientation reads the first directory of a TIFF block.
func exifOrientation(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if tiff[0] == 'I' {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return 1
	}
	entries := tiff[at+2:]
	for n := order.Uint16(tiff[at:]); n > 0 && len(entries) >= 12; n-- {
		if order.Uint16(entries) == 0x0112 {
			if v := int(order.Uint16(entries[8:])); v >= 1 && v <= 8 {
				return v
			}
			return 1
		}
		entries = entries[12:]
	}
	return 1
}

// upright turns and mirrors a picture as its orientation asks.
func upright(m image.Image, orientation int) image.Image {
	if orientation <= 1 || orientation > 8 {
		return m
	}
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	colour := colours(m)
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation >= 5 {
		dst = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			var to int
			switch orientation {
			case 2: // mirrored
				to = dst.PixOffset(w-1-x, y)
			case 3: // upside down
				to = dst.PixOffset(w-1-x, h-1-y)
			case 4:
				to = dst.PixOffset(x, h-1-y)
			case 5:
				to = dst.PixOffset(y, x)
			case 6: // to be turned right
				to = dst.PixOffset(h-1-y, x)
			case 7:
				to = dst.PixOffset(h-1-y, w-1-x)
			case 8: // to be turned left
				to = dst.PixOffset(y, w-1-x)
			}
			c := colour(b.Min.X+x, b.Min.Y+y)
			dst.Pix[to], dst.Pix[to+1], dst.Pix[to+2], dst.Pix[to+3] = c.R, c.G, c.B, 0xff
		}
	}
	return dst
}

// colours gives the colour at a place of a jpeg picture, which has no transparent parts. The common kind is read without
// an allocation for each pixel.
func colours(m image.Image) func(x, y int) color.RGBA {
	if m, ok := m.(*image.YCbCr); ok {
		return func(x, y int) color.RGBA {
			c := m.YCbCrAt(x, y)
			r, g, b := color.YCbCrToRGB(c.Y, c.Cb, c.Cr)
			return color.RGBA{r, g, b, 0xff}
		}
	}
	return func(x, y int) color.RGBA { return color.RGBAModel.Convert(m.At(x, y)).(color.RGBA) }
}
