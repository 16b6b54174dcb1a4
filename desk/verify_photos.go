package desk

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// PhotoReport is what a look through the photos found.
type PhotoReport struct {
	Photos   int      // files that were looked at
	Problems []string // photos that a finding names and that are missing or damaged, a sentence each
	Unnamed  []string // files that no finding names: they do no harm
}

// namedPhoto is a photo with a finding that names it.
type namedPhoto struct {
	vent.Photo
	finding vent.Finding
	where   string
}

// VerifyPhotos reads every photo that a finding names and compares it with its check sum. The records are read first, so that
// the data file is free while the files are read.
func (d *Desk) VerifyPhotos() (r PhotoReport, err error) {
	var all []namedPhoto
	err = d.store.View(func(tx *store.Tx) error {
		all, err = photosNamed(tx)
		return err
	})
	if err != nil {
		return r, fmt.Errorf("verify the photos: %w", err)
	}
	named, wrong := map[string]bool{}, map[string]string{}
	for _, p := range all {
		key := p.SHA256 + p.Type
		if !named[key] {
			named[key] = true
			r.Photos++
			wrong[key] = d.photos.wrong(p.Photo)
		}
		if why := wrong[key]; why != "" {
			r.Problems = append(r.Problems, fmt.Sprintf("photo %s (%s) of the finding %s of %s at %s: %s", p.Name, p.SHA256, p.finding.ID, p.finding.Date, p.where, why))
		}
	}
	r.Unnamed, err = d.photos.unnamed(named)
	if err != nil {
		return r, fmt.Errorf("verify the photos: %w", err)
	}
	return r, nil
}

func photosNamed(tx *store.Tx) (all []namedPhoto, err error) {
	g := newGuide(tx)
	for f, err := range store.Findings.All(tx) {
		if err != nil {
			return nil, err
		}
		for _, p := range f.Photos {
			where := f.RunID.String()
			if run, err := store.Runs.Get(tx, f.RunID); err == nil {
				if at, err := g.place(run); err == nil {
					where = at.Label()
				}
			}
			all = append(all, namedPhoto{p, f, where})
		}
	}
	return all, nil
}

// wrong says what is wrong with a photo's file; "" where nothing is.
func (b *photoBook) wrong(p vent.Photo) string {
	i := slices.IndexFunc(photoTypes, func(t photoType) bool { return t.kind == p.Type })
	if sum, err := hex.DecodeString(p.SHA256); i < 0 || err != nil || len(sum) != sha256.Size || p.SHA256 != strings.ToLower(p.SHA256) {
		return "its check sum or its type cannot be"
	}
	file := b.file(p.SHA256, photoTypes[i].ext)
	f, err := os.Open(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "the file is missing: " + file
	case err != nil:
		return "the file cannot be read: " + err.Error()
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "the file cannot be read: " + err.Error()
	}
	if hex.EncodeToString(sum.Sum(nil)) != p.SHA256 {
		return "the file is damaged: " + file
	}
	return ""
}

// unnamed lists the files of photos that are not among those named, by check sum and type.
func (b *photoBook) unnamed(named map[string]bool) (all []string, err error) {
	err = filepath.WalkDir(b.dir, func(file string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && file == b.dir {
			return nil
		}
		if err != nil || !isPhoto(e) {
			return err
		}
		sum, ext := strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())), filepath.Ext(e.Name())
		i := slices.IndexFunc(photoTypes, func(t photoType) bool { return t.ext == ext })
		if !named[sum+photoTypes[i].kind] {
			all = append(all, file)
		}
		return nil
	})
	return all, err
}
