package mail

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	netmail "net/mail"
	"os"
	"path/filepath"
	"time"
)

// Folder carries messages into a folder of .eml files, which any mail program opens. Files and folder are
// readable by their owner only.
type Folder struct {
	Dir string // made when it is missing
}

// tempPattern is how messages are called that are not whole yet; staleAfter is when nobody can be writing one any more.
const (
	tempPattern = ".new-*"
	staleAfter  = time.Hour
)

// Open makes sure that the folder is there, and removes what a killed process left half written in it.
func (f Folder) Open(context.Context) (Conn, error) {
	if err := os.MkdirAll(f.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("mail folder: %w", err)
	}
	if err := removeStale(f.Dir, time.Now()); err != nil {
		return nil, fmt.Errorf("mail folder: %w", err)
	}
	return folderConn{dir: f.Dir}, nil
}

// removeStale removes half-written messages that nobody has touched for staleAfter. Another process may write a fresh one.
func removeStale(dir string, now time.Time) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if ok, _ := filepath.Match(tempPattern, e.Name()); !ok || !e.Type().IsRegular() {
			continue
		}
		info, err := e.Info()
		if err == nil && now.Sub(info.ModTime()) > staleAfter {
			err = os.Remove(filepath.Join(dir, e.Name()))
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

type folderConn struct{ dir string }

// Send writes the message under a name made of its date and its id: the same message sent again is the same
// file. It is accepted once it is on the disk, and never half there.
func (c folderConn) Send(_ context.Context, job Job) Outcome {
	path := filepath.Join(c.dir, fileName(job))
	if err := writeDurably(path, job.Raw); err != nil {
		return Outcome{Kind: Deferred, Ours: true, Reason: oneLine(fmt.Sprintf("mail folder: %v", err))}
	}
	return Outcome{Kind: Accepted, Reason: "written to " + path}
}

func (folderConn) Close() error { return nil }

// fileName is 20260314T080000Z-ID.eml. An id that is no plain file name, or none, is replaced by a hash of
// the id and the Message-ID; a message without a readable date has none in its name.
func fileName(job Job) string {
	id, date := job.ID, "undated"
	var messageID string
	if m, err := netmail.ReadMessage(bytes.NewReader(job.Raw)); err == nil {
		messageID = m.Header.Get("Message-Id")
		if d, err := m.Header.Date(); err == nil {
			date = d.UTC().Format("20060102T150405Z")
		}
	}
	if len(id) > 100 || !envelopeIDForm.MatchString(id) {
		sum := sha256.Sum256([]byte(id + "\x00" + messageID))
		id = hex.EncodeToString(sum[:12])
	}
	return date + "-" + id + ".eml"
}

// writeDurably writes to a temporary file beside path, syncs it, renames it, and syncs the folder.
func writeDurably(path string, data []byte) error {
	dir := filepath.Dir(path)
	tmp, err := os.CreateTemp(dir, tempPattern)
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // fails once it is renamed, which is meant
	_, err = tmp.Write(data)
	if err == nil {
		err = tmp.Sync()
	}
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return err
	}
	return syncDir(dir)
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
