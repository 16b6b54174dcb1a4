package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// Backup writes a consistent copy of the data file while work goes on. The copy is complete and on disk when it gets
// its name; a copy that is already there under the name is refused.
func (s *Store) Backup(to string) error {
	if s.closed.Load() {
		return ErrClosed
	}
	dir := filepath.Dir(to)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("back up to %s: %w", to, err)
	}
	f, err := os.CreateTemp(dir, ".backup-*.db")
	if err != nil {
		return fmt.Errorf("back up to %s: %w", to, err)
	}
	defer os.Remove(f.Name())
	err = s.bolt.View(func(tx *bbolt.Tx) error {
		_, err := tx.WriteTo(f)
		return err
	})
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return fmt.Errorf("back up to %s: %w", to, err)
	}
	if err := os.Link(f.Name(), to); err != nil {
		return fmt.Errorf("back up to %s: %w", to, err)
	}
	return syncDir(dir)
}

// Restore puts a backup in the place of the data file after checking it whole. The file that was there is kept as
// NAME.before-restore. It refuses while another process holds the data file.
func Restore(from, path string) error {
	if err := checkFile(from); err != nil {
		return err
	}
	if _, err := os.Stat(path); err == nil {
		held, err := bbolt.Open(path, 0o600, &bbolt.Options{Timeout: 1, NoFreelistSync: true})
		if err != nil {
			return openError(path, err)
		}
		defer held.Close()
	}
	temp := path + ".restoring"
	if err := copyFile(from, temp); err != nil {
		return fmt.Errorf("restore %s: %w", path, err)
	}
	defer os.Remove(temp)
	if err := os.Rename(path, path+".before-restore"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("restore %s: %w", path, err)
	}
	if err := os.Rename(temp, path); err != nil {
		return fmt.Errorf("restore %s: %w; the former file is %s.before-restore", path, err, path)
	}
	return syncDir(filepath.Dir(path))
}

// checkFile opens a copy read-only and verifies it.
func checkFile(path string) error {
	s, err := Open(path, Options{ReadOnly: true})
	if err != nil {
		return err
	}
	defer s.Close()
	return s.Verify().Err()
}

func copyFile(from, to string) error {
	data, err := os.Open(from)
	if err != nil {
		return err
	}
	defer data.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if _, err = out.ReadFrom(data); err == nil {
		err = out.Sync()
	}
	if e := out.Close(); err == nil {
		err = e
	}
	return err
}
