package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// Backup writes a consistent copy of the data file while work goes on. The copy is complete and on disk when it gets
// its name; a copy that is already there under the name is refused with fs.ErrExist, a damaged file with ErrDamaged.
func (s *Store) Backup(to string) error {
	err := s.Damaged()
	if err == nil {
		err = s.backup(to)
	}
	if errors.Is(err, bolterrors.ErrDatabaseNotOpen) {
		return ErrClosed
	}
	if err != nil {
		return fmt.Errorf("back up to %s: %w", to, err)
	}
	return nil
}

func (s *Store) backup(to string) error {
	dir := filepath.Dir(to)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, ".backup-*.db")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	err = s.view(func(tx *bbolt.Tx) error {
		if err := s.checkPages(tx); err != nil {
			return err // a damaged copy would push a good one out of the folder some day
		}
		_, err := tx.WriteTo(f)
		return err
	})
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return placeNew(f.Name(), to)
}

// Restore puts a backup in the place of the data file, after verifying it whole and bringing an older layout up to
// date on a copy. The file that was there, damaged or not, is kept: its name is given, "" where there was none. It
// refuses with ErrInUse while a process holds either file. At every moment there is a whole file under the name.
func Restore(from, path string) (kept string, err error) {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("restore %s: %w", path, err)
	}
	for _, name := range []string{from, path} {
		release, err := hold(name)
		if err != nil {
			return "", err
		}
		defer release()
	}
	work, err := os.MkdirTemp(dir, ".restore-*")
	if err != nil {
		return "", fmt.Errorf("restore %s: %w", path, err)
	}
	defer os.RemoveAll(work)
	ready := filepath.Join(work, "data.db")
	err = prepare(from, ready)
	if errors.Is(err, ErrDamaged) {
		return "", fmt.Errorf("restore from %s: this copy is damaged itself, take an older one; %s is as it was: %w", from, path, err)
	}
	if err != nil {
		return "", fmt.Errorf("restore from %s: %w; %s is as it was", from, err, path)
	}
	if kept, err = keep(path, "before-restore"); errors.Is(err, fs.ErrNotExist) {
		kept, err = "", nil
	}
	if err == nil {
		err = os.Rename(ready, path)
	}
	if err == nil {
		err = syncDir(dir)
	}
	if err != nil {
		return kept, fmt.Errorf("restore %s: %w", path, err)
	}
	return kept, nil
}

// prepare copies a backup, brings the copy up to date and verifies it.
func prepare(from, copied string) error {
	if err := copyFile(from, copied); err != nil {
		return err
	}
	s, err := Open(copied, Options{})
	if err != nil {
		return err
	}
	report := s.Verify()
	err = errors.Join(report.Err(), s.Close())
	if wrong := s.Damaged(); wrong != nil {
		err = wrong
	}
	return err
}

// hold keeps others from opening the file until release. A file that bbolt cannot read is held by nobody, since the
// lock is taken before reading; nobody can open it either.
func hold(path string) (release func(), err error) {
	db, _, err := openBolt(path, &bbolt.Options{ReadOnly: true, Timeout: 100 * time.Millisecond}) // it reads the meta pages only
	switch {
	case err == nil:
		return func() { _ = db.Close() }, nil
	case errors.Is(err, bolterrors.ErrTimeout), errors.Is(err, fs.ErrPermission):
		return nil, openError(path, err)
	}
	return func() {}, nil
}
