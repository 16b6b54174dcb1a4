package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// TestReadme keeps the README's table of columns what the program takes.
func TestReadme(t *testing.T) {
	const file, from, to = "../../README.md", "<!-- columns: written by `go test ./cmd/ventdue -run TestReadme -update` -->\n", "<!-- end of columns -->"
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(b), from)
	_, after, ok2 := strings.Cut(rest, to)
	if !ok || !ok2 {
		t.Fatal("the README has lost the marks around its table of columns")
	}
	want := before + from + columnTable() + to + after
	if want == string(b) {
		return
	}
	if !*update {
		t.Fatal("the README's table of columns is not what the program takes: run the test with -update")
	}
	if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
		t.Fatal(err)
	}
}

func columnTable() string {
	var b strings.Builder
	b.WriteString("| column | holds | us / si | meaning | example |\n|---|---|---|---|---|\n")
	for _, c := range columnDocs() {
		name := "`" + c.Name + "`"
		if c.Required {
			name = "**" + name + "**"
		}
		unit := ""
		if c.US != "" {
			unit = c.US + " / " + c.SI
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", name, c.Form, unit, c.Meaning, c.Example)
	}
	return b.String() + "\nBold: needed in every row that does not name a stored record by its `*_ref`.\n"
}
