package store

import (
	"encoding/binary"
	"fmt"
	"io"
	"os"

	"go.etcd.io/bbolt"
)

// bbolt's pages, in the machine's byte order: a header of 16 bytes (id 8, flags 2, count of elements 2, further pages 4),
// then elements of 16 bytes. A branch's: place of the key counted from the element 4, its length 4, page 8. A leaf's:
// flags 4, place of key and value 4, lengths of key and value 4 each. A bucket's value begins with its root page (8) and
// its sequence (8); without a root page, its only page follows there.
const (
	pageHead, pageElement = 16, 16
	branchPage, leafPage  = 0x01, 0x02
	bucketElement         = 0x01
	bucketHead            = 16
)

// pageWalk reads every page of a snapshot's tree out of the file, not through the mapping: where a page is wrong, bbolt
// reads memory that is not there, which nothing can survive on the goroutine that its own check starts.
type pageWalk struct {
	file io.ReaderAt
	size int    // of a page, in bytes
	end  uint64 // pages of the file
	seen map[uint64]bool
}

// checkPages gives the first page of the snapshot that cannot be.
func (s *Store) checkPages(tx *bbolt.Tx) error {
	f, err := os.Open(s.path)
	if err != nil {
		return err
	}
	defer f.Close()
	size := tx.DB().Info().PageSize
	w := pageWalk{f, size, uint64(tx.Size()) / uint64(size), map[uint64]bool{}}
	if err := w.page(uint64(tx.Cursor().Bucket().Root())); err != nil {
		return s.harm(err)
	}
	return nil
}

func (w *pageWalk) page(id uint64) error {
	switch {
	case id < 2 || id >= w.end: // the first two are the meta pages
		return fmt.Errorf("page %d is outside the file's %d pages", id, w.end)
	case w.seen[id]:
		return fmt.Errorf("page %d is used twice", id)
	}
	w.seen[id] = true
	b := make([]byte, w.size)
	if _, err := w.file.ReadAt(b, int64(id)*int64(w.size)); err != nil {
		return fmt.Errorf("page %d: %w", id, err)
	}
	if says := binary.NativeEndian.Uint64(b); says != id {
		return fmt.Errorf("page %d says that it is page %d", id, says)
	}
	if more := uint64(binary.NativeEndian.Uint32(b[12:])); more > 0 {
		if more >= w.end-id {
			return fmt.Errorf("page %d is longer than the file", id)
		}
		b = append(b, make([]byte, more*uint64(w.size))...)
		if _, err := w.file.ReadAt(b, int64(id)*int64(w.size)); err != nil {
			return fmt.Errorf("page %d: %w", id, err)
		}
	}
	if err := w.elements(b, false); err != nil {
		return fmt.Errorf("page %d: %w", id, err)
	}
	return nil
}

// elements checks that all elements of a page lie inside it, and goes on to the pages that they name. An inner page lies
// in the value of its bucket and names none.
func (w *pageWalk) elements(b []byte, inner bool) error {
	kind, count := binary.NativeEndian.Uint16(b[8:]), int(binary.NativeEndian.Uint16(b[10:]))
	if kind != leafPage && (kind != branchPage || inner) {
		return fmt.Errorf("it is neither branch nor leaf (%#x)", kind)
	}
	if kind == branchPage && count == 0 || pageHead+count*pageElement > len(b) {
		return fmt.Errorf("it cannot have %d elements", count)
	}
	for i := range count {
		at := pageHead + i*pageElement
		e := b[at : at+pageElement]
		u32 := func(n int) uint64 { return uint64(binary.NativeEndian.Uint32(e[n:])) }
		from, key, value := uint64(at)+u32(0), u32(4), uint64(0)
		if kind == leafPage {
			from, key, value = uint64(at)+u32(4), u32(8), u32(12)
		}
		if key == 0 || from+key+value > uint64(len(b)) {
			return fmt.Errorf("its element %d lies outside it", i)
		}
		var err error
		switch {
		case kind == branchPage:
			err = w.page(binary.NativeEndian.Uint64(e[8:]))
		case u32(0)&bucketElement != 0:
			err = w.bucket(b[from+key : from+key+value])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *pageWalk) bucket(b []byte) error {
	if len(b) < bucketHead {
		return fmt.Errorf("a bucket of %d bytes is too short", len(b))
	}
	if root := binary.NativeEndian.Uint64(b); root != 0 {
		return w.page(root)
	}
	if len(b) < bucketHead+pageHead {
		return fmt.Errorf("a bucket of %d bytes has no page", len(b))
	}
	return w.elements(b[bucketHead:], true)
}
