// Package outside lets tests ask programs that are not ours what they make of
// our output: three iCalendar parsers written by others, and a calendar program
// that subscribes over HTTP. Tests only.
//
// A missing program skips the test that needs it, with a word on how to get it.
// With VENTDUE_REQUIRE_TOOLS=1 in the environment the test fails instead, so
// that an automatic run cannot pass by lacking its tools.
package outside

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// remedy is what a person does about a missing program.
const remedy = "testdata/tools/install installs it"

// Need returns the path of a program, looked for in PATH and in the folders of
// system services, or skips (fails) the test.
func Need(t testing.TB, program string) string {
	t.Helper()
	if path, err := exec.LookPath(program); err == nil {
		return path
	}
	for _, dir := range []string{"/usr/sbin", "/sbin"} {
		if path, err := exec.LookPath(filepath.Join(dir, program)); err == nil {
			return path
		}
	}
	Missing(t, program)
	return ""
}

// Missing skips the test for want of something, or fails it where nothing may
// be missing. It does not return.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("VENTDUE_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is missing: %s", what, remedy)
	}
	t.Skipf("%s is missing: %s", what, remedy)
}

// Module returns the folder of an npm package in the tools folder, which is
// $VENTDUE_TOOLS or else .tools beside go.mod, or skips (fails) the test.
func Module(t testing.TB, name string) string {
	t.Helper()
	dir := filepath.Join(toolsDir(), "node_modules", name)
	if _, err := os.Stat(filepath.Join(dir, "package.json")); err != nil {
		Missing(t, "the npm package "+name)
	}
	return dir
}

// toolsDir finds the tools folder; tests run in the folder of their package.
func toolsDir() string {
	if dir := os.Getenv("VENTDUE_TOOLS"); dir != "" {
		return dir
	}
	dir, err := os.Getwd()
	if err != nil {
		return ".tools"
	}
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil || dir == filepath.Dir(dir) {
			return filepath.Join(dir, ".tools")
		}
	}
}
