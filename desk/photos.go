package desk

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"unicode"

	"ventdue/vent"
)

// What a photo may be.
const (
	MaxPhotoBytes  = 12 << 20
	MaxPhotoPixels = 50_000_000
	MaxPhotos      = 8  // of one finding, by one form
	photoQuality   = 88 // of a written jpeg
)

// photoBook keeps photos as files that are named by what is in them.
type photoBook struct {
	dir string
	one sync.Mutex // a large photo fills the memory of a small machine: one at a time
}

// photoType is a kind of picture that is kept.
type photoType struct {
	kind, ext string
	magic     string
	config    func(io.Reader) (image.Config, error)
	decode    func(io.Reader) (image.Image, error)
	encode    func(io.Writer, image.Image) error
}

var photoTypes = []photoType{
	{"image/jpeg", ".jpg", "\xff\xd8\xff", jpeg.DecodeConfig, jpeg.Decode,
		func(w io.Writer, m image.Image) error { return jpeg.Encode(w, m, &jpeg.Options{Quality: photoQuality}) }},
	{"image/png", ".png", "\x89PNG\r\n\x1a\n", png.DecodeConfig, png.Decode,
		func(w io.Writer, m image.Image) error { return png.Encode(w, m) }},
}

// KeepPhotosIn names the folder of the photos. It must be called before the first photo is put.
func (d *Desk) KeepPhotosIn(dir string) { d.photos.dir = dir }

// PutPhoto keeps a photo and gives how a finding names it. The picture is read and written anew: where it was taken, by
// which camera, and whatever else was hidden in the file is gone, it stands upright, and its longer side has MaxPhotoSide
// pixels at most. It is on disk for good when this
// returns; a photo that no finding comes to name does no harm. What is no jpeg or png of at most MaxPhotoBytes and
// MaxPhotoPixels is refused with a vent.Problem of the field "photos".
func (d *Desk) PutPhoto(r io.Reader, name string) (vent.Photo, error) {
	if d.photos.dir == "" {
		return vent.Photo{}, errors.New("keep a photo: no folder for photos was named")
	}
	name = photoName(name)
	raw, err := io.ReadAll(io.LimitReader(r, MaxPhotoBytes+1))
	if err != nil {
		return vent.Photo{}, fmt.Errorf("read the photo %s: %w", name, err)
	}
	d.photos.one.Lock()
	defer d.photos.one.Unlock()
	data, t, err := rewrite(raw, name)
	if err != nil {
		return vent.Photo{}, err
	}
	sum := sha256.Sum256(data)
	p := vent.Photo{SHA256: hex.EncodeToString(sum[:]), Name: name, Type: t.kind, Bytes: int64(len(data))}
	if err := keepFile(d.photos.file(p.SHA256, t.ext), data); err != nil {
		return vent.Photo{}, fmt.Errorf("keep the photo %s: %w", name, err)
	}
	return p, nil
}

// rewrite reads a picture and writes it anew, with nothing but its pixels.
func rewrite(raw []byte, name string) ([]byte, photoType, error) {
	refuse := func(format string, args ...any) ([]byte, photoType, error) {
		var p vent.Problems
		p.Add("photos", name, format, args...)
		return nil, photoType{}, p
	}
	if len(raw) > MaxPhotoBytes {
		return refuse("is larger than %d MB: send it in a smaller size", MaxPhotoBytes>>20)
	}
	var t photoType
	for _, x := range photoTypes {
		if bytes.HasPrefix(raw, []byte(x.magic)) {
			t = x
		}
	}
	if t.kind == "" {
		return refuse("is no jpeg or png picture: save it as one of the two")
	}
	c, err := t.config(bytes.NewReader(raw))
	if err != nil {
		return refuse("cannot be read as a picture (%v): take or save it again", err)
	}
	if c.Width <= 0 || c.Height <= 0 || int64(c.Width)*int64(c.Height) > MaxPhotoPixels {
		return refuse("is %d × %d pixels, which is more than %d million: send it in a smaller size", c.Width, c.Height, MaxPhotoPixels/1_000_000)
	}
	m, err := t.decode(bytes.NewReader(raw))
	if err != nil {
		return refuse("cannot be read as a picture (%v): take or save it again", err)
	}
	m = shrunk(m, MaxPhotoSide)
	if t.kind == "image/jpeg" {
		m = upright(m, orientation(raw))
	}
	var b bytes.Buffer
	if err := t.encode(&b, m); err != nil {
		return nil, t, fmt.Errorf("write the photo %s: %w", name, err)
	}
	return b.Bytes(), t, nil
}

// file gives where a photo lies.
func (b *photoBook) file(sum, ext string) string { return filepath.Join(b.dir, sum[:2], sum+ext) }

// OpenPhoto opens a photo by its hash and says what type it is; vent.ErrNotFound where there is none. The caller closes it.
func (d *Desk) OpenPhoto(sum string) (*os.File, string, error) {
	if b, err := hex.DecodeString(sum); d.photos.dir != "" && err == nil && len(b) == sha256.Size && sum == strings.ToLower(sum) {
		for _, t := range photoTypes {
			f, err := os.Open(d.photos.file(sum, t.ext))
			if err == nil {
				return f, t.kind, nil
			}
			if !errors.Is(err, fs.ErrNotExist) {
				return nil, "", fmt.Errorf("open the photo: %w", err)
			}
		}
	}
	return nil, "", fmt.Errorf("photo %q: %w", sum, vent.ErrNotFound)
}

// PhotoNamed gives a photo that is kept as a finding names it; vent.ErrNotFound where there is none.
func (d *Desk) PhotoNamed(sum, name string) (vent.Photo, error) {
	f, kind, err := d.OpenPhoto(sum)
	if err != nil {
		return vent.Photo{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return vent.Photo{}, fmt.Errorf("open the photo: %w", err)
	}
	return vent.Photo{SHA256: sum, Name: photoName(name), Type: kind, Bytes: info.Size()}, nil
}

// photoName keeps what a person can tell a file by: its last part, on one line.
func photoName(name string) string {
	name = path.Base(strings.ReplaceAll(strings.ToValidUTF8(name, ""), `\`, "/"))
	r := []rune(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, name))
	r = r[:min(len(r), 100)]
	if s := strings.TrimSpace(string(r)); s != "" && s != "." && s != "/" {
		return s
	}
	return "photo"
}

// keepFile writes a file that is whole and on disk when it has its name. One that is there already has the same content.
func keepFile(file string, data []byte) error {
	if info, err := os.Stat(file); err == nil && info.Size() == int64(len(data)) {
		return nil
	}
	dir := filepath.Dir(file)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, ".photo-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), file); err != nil {
		return err
	}
	return errors.Join(syncFolder(dir), syncFolder(filepath.Dir(dir)), syncFolder(filepath.Dir(filepath.Dir(dir))))
}

func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// CopyPhotos brings into one folder of photos what it lacks of another, and gives how many that were. Where both lie on
// one disk a copy takes no room: photos are never changed. A folder that is not there has no photos.
func CopyPhotos(from, to string) (n int, err error) {
	err = filepath.WalkDir(from, func(file string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && file == from {
			return nil
		}
		if err != nil || !isPhoto(e) {
			return err
		}
		copied, err := copyPhoto(file, filepath.Join(to, e.Name()[:2], e.Name()))
		if copied {
			n++
		}
		return err
	})
	if err != nil {
		return n, fmt.Errorf("copy the photos of %s to %s: %w", from, to, err)
	}
	return n, nil
}

func isPhoto(e fs.DirEntry) bool {
	ext := filepath.Ext(e.Name())
	return e.Type().IsRegular() && (ext == ".jpg" || ext == ".png") && len(e.Name()) == 2*sha256.Size+len(ext)
}

func copyPhoto(from, to string) (bool, error) {
	if _, err := os.Stat(to); err == nil {
		return false, nil
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return false, err
	}
	if os.Link(from, to) == nil {
		return true, syncFolder(filepath.Dir(to))
	}
	data, err := os.ReadFile(from)
	if err != nil {
		return false, err
	}
	return true, keepFile(to, data)
}
