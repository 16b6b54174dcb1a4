package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

const (
	// initialMap is how much address space a file is mapped into at first: growing beyond it waits for open
	// snapshots. It costs no memory.
	initialMap = 64 << 20 << (4 * (^uint(0) >> 63)) // 1 GiB where addresses have 64 bits
	// growBy is by how much a full file grows at once, in bytes.
	growBy = 4 << 20
	// openTries bounds how often a file that is replaced while we wait for its lock is opened anew.
	openTries = 5
)

// openFile opens and locks an existing file.
//
// Invariant: the file that is locked is the file that has the name. An upgrade or a restore in another process
// may have put a new file under the name while this one waited for the lock of the old.
func openFile(path string, o Options) (*bbolt.DB, error) {
	for range openTries {
		if err := checkLength(path); err != nil {
			return nil, openError(path, err)
		}
		db, locked, err := openBolt(path, &bbolt.Options{
			Timeout: o.LockWait, ReadOnly: o.ReadOnly, NoSync: o.NoSync,
			FreelistType: bbolt.FreelistMapType, InitialMmapSize: initialMap, NoStatistics: true,
			PreLoadFreelist: true, // here, where a damaged one is survived
		})
		if err != nil {
			return nil, openError(path, err)
		}
		db.AllocSize = growBy
		if isNamed(locked, path) {
			return db, nil
		}
		if err := db.Close(); err != nil {
			return nil, openError(path, err)
		}
	}
	return nil, fmt.Errorf("open %s: it was replaced %d times while waiting for it", path, openTries)
}

// openBolt opens an existing file. Where damage makes bbolt panic, the file is let go of first.
func openBolt(path string, o *bbolt.Options) (db *bbolt.DB, locked *os.File, err error) {
	o.OpenFile = func(name string, flag int, mode os.FileMode) (*os.File, error) {
		f, err := os.OpenFile(name, flag&^os.O_CREATE, mode) // create makes whole files only
		locked = f
		return f, err
	}
	opened := false
	defer func() {
		if !opened && locked != nil {
			_ = locked.Close()
		}
	}()
	db, err = bbolt.Open(path, 0o600, o)
	opened = true
	return db, locked, err
}

func isNamed(f *os.File, path string) bool {
	have, err := f.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(path)
	return err == nil && os.SameFile(have, named)
}

func openError(path string, err error) error {
	switch {
	case errors.Is(err, bolterrors.ErrTimeout):
		return fmt.Errorf("open %s: %w: a running daemon answers commands through its socket; "+
			"stop the other process or give another --data folder", path, ErrInUse)
	case errors.Is(err, bolterrors.ErrInvalid), errors.Is(err, bolterrors.ErrChecksum),
		errors.Is(err, bolterrors.ErrVersionMismatch), errors.Is(err, errShort):
		return fmt.Errorf("open %s: it is not a Ventdue data file, or it is damaged: %w; restore a backup with `ventdue restore`", path, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("open %s: %w: run as the user that owns the file", path, err)
	}
	return fmt.Errorf("open %s: %w", path, err)
}

var errShort = errors.New("it ends too early")

// checkLength refuses a file that is shorter than its newest meta page says: reading a page behind the end of a
// mapped file would end the process. Everything else that may be wrong is left to bbolt.
//
// bbolt's meta page, in the machine's byte order: a header of 16 bytes, then magic, version, page size and flags
// (4 bytes each), root (16), freelist, count of pages, transaction (8 each).
func checkLength(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	const magic, length = 0xED0CDAED, 16 + 16 + 16 + 24
	var need, newest uint64
	meta := make([]byte, length)
	for at, page := int64(0), int64(os.Getpagesize()); at <= page; at += page {
		if _, err := f.ReadAt(meta, at); errors.Is(err, io.EOF) {
			return errShort
		} else if err != nil {
			return err
		}
		if binary.NativeEndian.Uint32(meta[16:]) != magic {
			continue
		}
		if at == 0 {
			page = int64(binary.NativeEndian.Uint32(meta[24:]))
		}
		if born := binary.NativeEndian.Uint64(meta[64:]); born >= newest {
			newest, need = born, binary.NativeEndian.Uint64(meta[56:])*uint64(page)
		}
		if page < length {
			break // no page has such a size
		}
	}
	// The length is asked last: a file never shrinks, so that one that is being written to passes.
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if uint64(info.Size()) < need {
		return fmt.Errorf("%w: %d bytes of %d are left", errShort, info.Size(), need)
	}
	return nil
}

// create makes the first file complete under another name and puts it into place, so that a file that is
// there says its layout, and two processes that start at once make one file.
func create(path string, h history) error {
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return nil // it is there, or opening it will say better what is wrong
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make data folder %s: %w", dir, err)
	}
	f, err := os.CreateTemp(dir, ".new-*.db")
	if err != nil {
		return fmt.Errorf("make data file in %s: %w; is the folder writable?", dir, err)
	}
	temp := f.Name()
	defer os.Remove(temp)
	if err := f.Close(); err != nil {
		return fmt.Errorf("make data file %s: %w", path, err)
	}
	if err := initFile(temp, h); err != nil {
		return fmt.Errorf("make data file %s: %w", path, err)
	}
	if err := placeNew(temp, path); err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("make data file %s: %w", path, err)
	}
	return nil
}

func initFile(path string, h history) error {
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		return err
	}
	if err := db.Update(func(tx *bbolt.Tx) error {
		if _, err := tx.CreateBucket([]byte(metaBucket)); err != nil {
			return err
		}
		return setLayout(tx, h.layout)
	}); err != nil {
		_ = db.Close()
		return err
	}
	return db.Close()
}

// placeNew gives a finished file its name, durably, unless the name is taken: then fs.ErrExist.
func placeNew(temp, path string) error {
	err := os.Link(temp, path)
	if errors.Is(err, syscall.EPERM) || errors.Is(err, errors.ErrUnsupported) {
		err = renameNew(temp, path) // a memory stick's file system knows no links
	}
	if err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

// renameNew is placeNew without links: the name is taken by an empty file first.
func renameNew(temp, path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(temp, path)
}

// keep gives the file at path a second name, "path.why" or, where that is taken by another file, "path.why.2"
// and so on, so that path can be replaced by a rename and is never without a file.
func keep(path, why string) (kept string, err error) {
	mine, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	for n := 1; ; n++ {
		kept = path + "." + why
		if n > 1 {
			kept = fmt.Sprintf("%s.%s.%d", path, why, n)
		}
		err := os.Link(path, kept)
		if errors.Is(err, syscall.EPERM) || errors.Is(err, errors.ErrUnsupported) {
			err = copyNew(path, kept)
		}
		if !errors.Is(err, fs.ErrExist) {
			return kept, err
		}
		if other, err := os.Stat(kept); err == nil && os.SameFile(mine, other) {
			return kept, nil // an earlier try got this far
		}
	}
}

// copyNew copies a file to a name that must be free.
func copyNew(from, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return &fs.PathError{Op: "copy", Path: to, Err: fs.ErrExist}
	}
	return copyFile(from, to)
}

// copyFile copies a file durably; one that was there is overwritten.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if _, err = io.Copy(out, in); err == nil {
		err = out.Sync()
	}
	return errors.Join(err, out.Close())
}

// syncDir makes a rename or a new name in dir survive a power cut.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	return nil
}
