package desk

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"os"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
)

// Worked by hand: 5 000 × 2 500 becomes 2 048 × 1 024; of a picture that is half black and half white, the smaller one is so as well.
func TestLargePhotosAreMadeSmaller(t *testing.T) {
	for _, c := range []struct{ w, h, wantW, wantH int }{{5000, 2500, 2048, 1024}, {2500, 5000, 1024, 2048}, {2048, 2048, 2048, 2048}, {2049, 3, 2048, 2}, {9000, 1, 2048, 1}, {30, 20, 30, 20}} {
		m := image.NewGray(image.Rect(7, 9, 7+c.w, 9+c.h)) // no picture has to begin at 0, 0
		for y := range c.h {
			for x := range c.w / 2 {
				m.SetGray(7+x, 9+y, color.Gray{Y: 255})
			}
		}
		got := shrunk(m, MaxPhotoSide)
		b := got.Bounds()
		if b.Dx() != c.wantW || b.Dy() != c.wantH {
			t.Errorf("%d × %d became %v", c.w, c.h, b)
		}
		left, _, _, alpha := got.At(b.Min.X+b.Dx()/4, b.Min.Y).RGBA()
		right, _, _, _ := got.At(b.Min.X+b.Dx()*3/4, b.Min.Y).RGBA()
		if left != 0xffff || right != 0 || alpha != 0xffff {
			t.Errorf("%d × %d: left %x, right %x, alpha %x", c.w, c.h, left, right, alpha)
		}
	}
	// Four pixels of 0, 100, 200 and 255 make one of their mean, 138.75.
	m := image.NewGray(image.Rect(0, 0, 2, 2))
	copy(m.Pix, []uint8{0, 100, 200, 255})
	if got := shrunk(m, 1).At(0, 0); got != (color.RGBA{139, 139, 139, 255}) {
		t.Errorf("the mean is %v", got)
	}
}

// A photo that was turned by the camera is made smaller and stands upright.
func TestTurnedPhotosAreMadeSmaller(t *testing.T) {
	d, _ := photoDesk(t)
	p, err := d.PutPhoto(bytes.NewReader(withExif(jpegOf(t, corner(3000, 1500)), binary.LittleEndian, 6)), "turned.jpg")
	if err != nil {
		t.Fatal(err)
	}
	m, _, err := image.Decode(bytes.NewReader(kept(t, d, p)))
	if err != nil || m.Bounds().Dx() != 1024 || m.Bounds().Dy() != 2048 {
		t.Fatalf("%v, %v", m.Bounds(), err)
	}
	if r, g, _, _ := m.At(1000, 50).RGBA(); r < 0xd000 || g > 0x3000 { // turned by a quarter, top left is top right
		t.Errorf("the red corner is not on the top right: %x %x", r, g)
	}
}

// Photos that are missing, damaged, or named by nobody are found, with the finding that names them.
func TestPhotosAreVerified(t *testing.T) {
	d := importDesk(t, vent.Customers)
	dir := t.TempDir()
	d.KeepPhotosIn(dir)
	mustImport(t, d, 0, oneHome)
	run := readAll(t, d).runs[0].ID
	var put []vent.Photo
	for n := range 4 {
		p, err := d.PutPhoto(bytes.NewReader(pngOf(t, corner(8+n, 4))), "hood.png")
		if err != nil {
			t.Fatal(err)
		}
		put = append(put, p)
	}
	f := vent.Finding{RunID: run, Date: theDay("2026-03-01"), Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly, Photos: put[:3]}
	got, err := d.Record(By{Now: importNow.Add(time.Hour), Actor: "office"}, f)
	if err != nil {
		t.Fatal(err)
	}
	r, err := d.VerifyPhotos()
	if err != nil || r.Photos != 3 || len(r.Problems) != 0 || len(r.Unnamed) != 1 || !strings.Contains(r.Unnamed[0], put[3].SHA256) {
		t.Fatalf("whole: %+v, %v", r, err)
	}
	missing, damaged := d.photos.file(put[0].SHA256, ".png"), d.photos.file(put[1].SHA256, ".png")
	if err := os.Remove(missing); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(damaged)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	if err := os.WriteFile(damaged, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if r, err = d.VerifyPhotos(); err != nil || len(r.Problems) != 2 {
		t.Fatalf("%+v, %v", r, err)
	}
	for n, want := range []string{"is missing: " + missing, "is damaged: " + damaged} {
		p := r.Problems[n]
		if !strings.Contains(p, want) || !strings.Contains(p, got.Finding.ID.String()) || !strings.Contains(p, "9 Heron Lane") || !strings.Contains(p, "2026-03-01") {
			t.Errorf("%q does not say %q, the finding, the day and the place", p, want)
		}
	}
}
