package mail

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"
)

// checkFolder wants exactly the jobs' messages in the folder, whole, and readable by their owner only.
func checkFolder(t *testing.T, dir string, jobs []Job) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
		if info, err := e.Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", e.Name(), info.Mode(), err)
		}
	}
	var want []string
	for _, j := range jobs {
		name := "20260315T080000Z-" + j.ID + ".eml"
		want = append(want, name)
		if raw, err := os.ReadFile(filepath.Join(dir, name)); err != nil || !bytes.Equal(raw, j.Raw) {
			t.Errorf("%s: %v, or changed", name, err)
		}
	}
	if !slices.Equal(names, want) {
		t.Errorf("folder holds %v, want %v", names, want)
	}
}

func TestFolderNames(t *testing.T) {
	hashed := regexp.MustCompile(`^20260315T080000Z-[0-9a-f]{24}\.eml$`)
	raw := job(t, 1).Raw
	seen := map[string]bool{}
	for _, id := range []string{"", "../../etc/passwd", "a/b", "ü", "a\x00"} {
		name := fileName(Job{ID: id, Raw: raw})
		if !hashed.MatchString(name) || seen[name] {
			t.Errorf("%q gives %s", id, name)
		}
		seen[name] = true
	}
	if name := fileName(Job{ID: "m1", Raw: []byte("no message")}); name != "undated-m1.eml" {
		t.Errorf("%s", name)
	}
}

func TestFolderThatCannotBe(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := (Folder{Dir: filepath.Join(file, "mail")}).Open(t.Context()); err == nil {
		t.Error("opened a folder below a file")
	}
	dir := filepath.Join(t.TempDir(), "mail")
	conn := open(t, Folder{Dir: dir})
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if o := conn.Send(t.Context(), job(t, 1)); o.Kind != Deferred || !o.Ours || o.Reason == "" {
		t.Errorf("outcome %+v", o)
	}
}

func TestHalfWrittenMessagesAreRemovedWhenStale(t *testing.T) {
	dir := t.TempDir()
	now := time.Now()
	for name, age := range map[string]time.Duration{".new-123": 2 * time.Hour, ".new-456": time.Minute, "old.eml": 2 * time.Hour, ".keep": 2 * time.Hour} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, now, now.Add(-age)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := (Folder{Dir: dir}).Open(context.Background()); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range left {
		names = append(names, e.Name())
	}
	if want := []string{".keep", ".new-456", "old.eml"}; !slices.Equal(names, want) {
		t.Errorf("left: %q, want %q", names, want)
	}
}
