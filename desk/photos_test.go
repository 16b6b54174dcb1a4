package desk

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"ventdue/vent"
)

// corner is a grey picture, wider than high, with one corner red: top left, as the sensor saw it.
func corner(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.Gray{Y: 128})
			if x < w/2 && y < h/2 {
				m.Set(x, y, color.RGBA{R: 255, A: 255})
			}
		}
	}
	return m
}

func jpegOf(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withExif puts an Exif block behind a jpeg's first mark: an orientation and a made-up place in a text.
func withExif(raw []byte, order binary.ByteOrder, orientation uint16) []byte {
	tiff := []byte("II*\x00")
	if order == binary.BigEndian {
		tiff = []byte("MM\x00*")
	}
	tiff = append(tiff, 0, 0, 0, 0)
	order.PutUint32(tiff[4:], 8)
	dir := make([]byte, 2+12+4)
	order.PutUint16(dir, 1)
	order.PutUint16(dir[2:], 0x0112)
	order.PutUint16(dir[4:], 3) // SHORT
	order.PutUint32(dir[6:], 1)
	order.PutUint16(dir[10:], orientation)
	body := append([]byte("Exif\x00\x00"), append(append(tiff, dir...), "GPS 40.7N 74.0W"...)...)
	app1 := []byte{0xff, 0xe1, 0, 0}
	binary.BigEndian.PutUint16(app1[2:], uint16(len(body)+2))
	return append(append(append([]byte{}, raw[:2]...), append(app1, body...)...), raw[2:]...)
}

// hugePNG claims to be w × h without having the pixels (PNG specification, section 11.2.2: IHDR).
func hugePNG(w, h uint32) []byte {
	ihdr := make([]byte, 17)
	copy(ihdr, "IHDR")
	binary.BigEndian.PutUint32(ihdr[4:], w)
	binary.BigEndian.PutUint32(ihdr[8:], h)
	ihdr[12], ihdr[13] = 8, 6
	b := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	b = append(b, ihdr...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(ihdr))
}

func photoDesk(t *testing.T) (*Desk, string) {
	t.Helper()
	d, dir := &Desk{}, filepath.Join(t.TempDir(), "photos")
	d.KeepPhotosIn(dir)
	return d, dir
}

func kept(t *testing.T, d *Desk, p vent.Photo) []byte {
	t.Helper()
	f, kind, err := d.OpenPhoto(p.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil || kind != p.Type || int64(len(b)) != p.Bytes {
		t.Fatalf("%d bytes of %s, %v; the finding says %+v", len(b), kind, err, p)
	}
	return b
}

func TestPhotosAreKept(t *testing.T) {
	d, dir := photoDesk(t)
	for _, c := range []struct{ name, want, kind string }{{"hood.jpg", "hood.jpg", "image/jpeg"}, {`C:\pics\lint.png`, "lint.png", "image/png"},
		{"../../etc/passwd", "passwd", "image/png"}, {"", "photo", "image/png"}, {"a\x00b\n.png", "ab.png", "image/png"}, {strings.Repeat("W", 300), strings.Repeat("W", 100), "image/jpeg"}} {
		raw := pngOf(t, corner(8, 4))
		if c.kind == "image/jpeg" {
			raw = jpegOf(t, corner(8, 4))
		}
		p, err := d.PutPhoto(bytes.NewReader(raw), c.name)
		if err != nil || p.Name != c.want || p.Type != c.kind {
			t.Fatalf("%q: %+v, %v", c.name, p, err)
		}
		again, err := d.PutPhoto(bytes.NewReader(raw), c.name)
		if err != nil || again != p {
			t.Errorf("the same photo again is %+v, %v", again, err)
		}
		if m, _, err := image.Decode(bytes.NewReader(kept(t, d, p))); err != nil || m.Bounds().Dx() != 8 || m.Bounds().Dy() != 4 {
			t.Errorf("what is kept of %q is no picture of 8 × 4: %v", c.name, err)
		}
		if named, err := d.PhotoNamed(p.SHA256, c.name); err != nil || named != p {
			t.Errorf("named again: %+v, %v", named, err)
		}
	}
	var files []string
	_ = filepath.WalkDir(dir, func(file string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			files = append(files, file)
		}
		return err
	})
	if len(files) != 2 {
		t.Errorf("two pictures are in %v", files)
	}
	for _, sum := range []string{"", "../ventdue.db", strings.Repeat("0", 64), strings.Repeat("A", 64), strings.Repeat("../", 21) + "a"} {
		if _, _, err := d.OpenPhoto(sum); !errors.Is(err, vent.ErrNotFound) {
			t.Errorf("opening %q: %v", sum, err)
		}
	}
}

// Where a picture was taken, and what else hides in the file, is gone; it stands as the camera meant it. The places of the red
// corner follow from Exif 2.3, tag Orientation: 1 row 0 top, column 0 left; 2 top, right; 3 bottom, right; 4 bottom, left;
// 5 left, top; 6 right, top; 7 right, bottom; 8 left, bottom.
func TestPhotosLoseTheirPlaceAndStandUpright(t *testing.T) {
	d, _ := photoDesk(t)
	raw := append(jpegOf(t, corner(32, 16)), "<script>alert(1)</script>"...)
	for o, c := range []struct{ right, low, turned bool }{{}, {}, {right: true}, {right: true, low: true}, {low: true},
		{turned: true}, {right: true, turned: true}, {right: true, low: true, turned: true}, {low: true, turned: true}, {}} {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			p, err := d.PutPhoto(bytes.NewReader(withExif(raw, order, uint16(o))), "x.jpg")
			if err != nil {
				t.Fatal(err)
			}
			b := kept(t, d, p)
			if bytes.Contains(b, []byte("GPS")) || bytes.Contains(b, []byte("Exif")) || bytes.Contains(b, []byte("script")) {
				t.Errorf("orientation %d: something hidden was kept", o)
			}
			m, err := jpeg.Decode(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			w, h := 32, 16
			if c.turned {
				w, h = h, w
			}
			x, y := 3, 3
			if c.right {
				x = w - 4
			}
			if c.low {
				y = h - 4
			}
			r, g, _, _ := m.At(x, y).RGBA()
			far, _, _, _ := m.At(w-1-x, h-1-y).RGBA()
			if m.Bounds().Dx() != w || r>>8 < 200 || g>>8 > 80 || far>>8 > 160 {
				t.Errorf("orientation %d: %v, red %d green %d at %d,%d", o, m.Bounds(), r>>8, g>>8, x, y)
			}
		}
	}
}

func TestPhotosRefused(t *testing.T) {
	d, dir := photoDesk(t)
	good := jpegOf(t, corner(64, 64))
	for name, c := range map[string]struct {
		raw  io.Reader
		says string
	}{
		"40 MB":     {io.MultiReader(bytes.NewReader(good), bytes.NewReader(make([]byte, 40<<20))), "larger than 12 MB"},
		"script":    {strings.NewReader("#!/bin/sh\nrm -rf /\n"), "no jpeg or png"},
		"page":      {strings.NewReader("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"), "no jpeg or png"},
		"gif":       {strings.NewReader("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), "no jpeg or png"},
		"empty":     {strings.NewReader(""), "no jpeg or png"},
		"half":      {bytes.NewReader(good[:len(good)/2]), "cannot be read"},
		"head only": {strings.NewReader("\xff\xd8\xff\xe0"), "cannot be read"},
		"half png":  {bytes.NewReader(pngOf(t, corner(64, 64))[:60]), "cannot be read"},
		"bomb":      {bytes.NewReader(hugePNG(50_000, 50_000)), "more than 50 million"},
		"widest":    {bytes.NewReader(hugePNG(1<<31-1, 1<<31-1)), ""},
		"no width":  {bytes.NewReader(hugePNG(0, 10)), ""},
	} {
		_, err := d.PutPhoto(c.raw, name)
		var p vent.Problems
		if !errors.As(err, &p) || p[0].Field != "photos" || p[0].Value != name || !strings.Contains(p[0].Text, c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if left, err := os.ReadDir(dir); err == nil && len(left) > 0 {
		t.Errorf("refused photos left %v", left)
	}
	if _, err := (&Desk{}).PutPhoto(bytes.NewReader(good), "x"); err == nil {
		t.Error("a desk without a folder kept a photo")
	}
}

func TestPhotosAtOnce(t *testing.T) {
	d, _ := photoDesk(t)
	raw := jpegOf(t, corner(64, 64))
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if _, err := d.PutPhoto(bytes.NewReader(raw), "x.jpg"); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

func TestPhotosAreCopied(t *testing.T) {
	d, dir := photoDesk(t)
	p, err := d.PutPhoto(bytes.NewReader(jpegOf(t, corner(8, 8))), "x.jpg")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "notes.jpg"), []byte("not ours"), 0o600); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "backup", "photos")
	for i, want := range []int{1, 0} {
		if n, err := CopyPhotos(dir, to); err != nil || n != want {
			t.Fatalf("copy %d: %d, %v", i, n, err)
		}
	}
	back := &Desk{}
	back.KeepPhotosIn(to)
	if !bytes.Equal(kept(t, back, p), kept(t, d, p)) {
		t.Error("the copy differs")
	}
	if n, err := CopyPhotos(filepath.Join(t.TempDir(), "none"), to); n != 0 || err != nil {
		t.Errorf("a folder that is not there: %d, %v", n, err)
	}
}

func FuzzPhoto(f *testing.F) {
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00II*\x00\x08\x00\x00\x00"))
	f.Add(hugePNG(3, 3))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if o := orientation(raw); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
		if len(raw) > 64<<10 {
			return
		}
		if data, kind, err := rewrite(raw, "x"); err == nil {
			if _, err := kind.config(bytes.NewReader(data)); err != nil {
				t.Errorf("what was written cannot be read: %v", err)
			}
		}
	})
}
