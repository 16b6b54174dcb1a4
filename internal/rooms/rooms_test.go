// Package rooms holds the picture of the house to the code: who may import whom, and which rooms have no clock.
package rooms

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "ventdue/"

// floors are the rooms from the ground up. A room may import rooms of lower floors and its own inner rooms.
var floors = [][]string{
	{"vent/airflow"},
	{"vent"},
	{"scheduler"},
	{"store"},
	{"desk"},
	{"config", "web", "notify", "scheduler/clockwork"},
	{"cmd"},
}

// alone are rooms that import nothing of ours: plain values or plain functions are handed to them.
var alone = []string{"config", "scheduler/clockwork", "vent/airflow"}

// siblings are inner rooms of a room that never import each other; the room itself puts them together.
var siblings = map[string][]string{"scheduler": {"lint", "due", "faults", "visits", "cadence"}}

// pure are the rooms without clock, context, logging or I/O.
var pure = []string{"vent", "scheduler"}

// room gives the room of a package path below the module and its floor; -1 for what is no room.
func room(pkg string) (string, int) {
	best, floor := "", -1
	for i, rooms := range floors {
		for _, r := range rooms {
			if within(pkg, r) && len(r) > len(best) {
				best, floor = r, i
			}
		}
	}
	return best, floor
}

func within(pkg, room string) bool { return pkg == room || strings.HasPrefix(pkg, room+"/") }

// fault says what is wrong with one package importing another; "" when nothing is.
func fault(from, to string) string {
	a, low := room(from)
	b, high := room(to)
	for _, r := range alone {
		if a == r && b != a {
			return a + " imports nothing of ours"
		}
	}
	inner := func(pkg, r string) string {
		name, _, _ := strings.Cut(strings.TrimPrefix(pkg, r+"/"), "/")
		for _, s := range siblings[r] {
			if pkg != r && name == s {
				return s
			}
		}
		return ""
	}
	switch {
	case high < 0:
		return to + " is no room"
	case a == b:
		if x, y := inner(from, a), inner(to, a); x != "" && y != "" && x != y {
			return x + " and " + y + " are siblings"
		}
		if x := inner(from, a); x != "" && to == a {
			return x + " imports the room that puts it together"
		}
		return ""
	case high >= low:
		return b + " is not below " + a
	}
	return ""
}

func TestFaultIsSeen(t *testing.T) {
	for _, c := range []struct {
		from, to string
		ok       bool
	}{
		{"cmd/ventdue", "web", true}, {"web", "desk", true}, {"notify", "desk/wording", true}, {"notify", "notify/mail", true},
		{"scheduler", "scheduler/lint", true}, {"scheduler/due", "vent", true}, {"store", "vent/airflow", true},
		{"web", "notify", false}, {"notify/mail", "web", false}, {"config", "vent", false}, {"scheduler/clockwork", "vent", false},
		{"scheduler/due", "scheduler/lint", false}, {"scheduler/lint", "scheduler", false}, {"store", "desk", false}, {"desk", "store", true},
		{"vent", "scheduler", false}, {"desk", "config", false}, {"scheduler", "scheduler/clockwork", false}, {"desk", "internal/outside", false},
	} {
		if got := fault(c.from, c.to); (got == "") != c.ok {
			t.Errorf("%s imports %s: %q", c.from, c.to, got)
		}
	}
}

// TestPicture reads the imports of every source file but tests, which may also use the test helpers.
func TestPicture(t *testing.T) {
	seen := 0
	sources(t, func(pkg, file string, f *ast.File) {
		if _, floor := room(pkg); floor < 0 {
			return
		}
		for _, spec := range f.Imports {
			path, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			to, ours := strings.CutPrefix(path, module)
			if !ours {
				continue
			}
			seen++
			if why := fault(pkg, to); why != "" && !helper(pkg) {
				t.Errorf("%s imports %s: %s", file, to, why)
			}
		}
	})
	if seen < 50 {
		t.Fatalf("only %d imports were read: the test looks in the wrong place", seen)
	}
}

// helper names packages that only tests use.
func helper(pkg string) bool {
	for _, h := range []string{"internal/", "notify/mail/smtptest", "notify/mail/postfixtest"} {
		if strings.HasPrefix(pkg, h) {
			return true
		}
	}
	return false
}

// TestPureRoomsHaveNoClock refuses what would make a decision depend on more than its input.
func TestPureRoomsHaveNoClock(t *testing.T) {
	banned := map[string]bool{"context": true, "log": true, "log/slog": true, "os": true, "net/http": true, "math/rand": true, "math/rand/v2": true}
	sources(t, func(pkg, file string, f *ast.File) {
		r, _ := room(pkg)
		isPure := false
		for _, p := range pure {
			isPure = isPure || within(pkg, p) && r != "scheduler/clockwork"
		}
		if !isPure {
			return
		}
		for _, spec := range f.Imports {
			if path, _ := strconv.Unquote(spec.Path.Value); banned[path] {
				t.Errorf("%s imports %s", file, path)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" && (s.Sel.Name == "Now" || s.Sel.Name == "Since" || s.Sel.Name == "Until") {
					t.Errorf("%s asks for the present time", file)
				}
			}
			return true
		})
	})
}

// sources parses every source file of the module but tests.
func sources(t *testing.T, f func(pkg, file string, parsed *ast.File)) {
	t.Helper()
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || path != root && strings.HasPrefix(d.Name(), ".")) {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		f(filepath.ToSlash(filepath.Dir(rel)), rel, parsed)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", fmt.Errorf("no go.mod above the test")
		}
		dir = up
	}
}
