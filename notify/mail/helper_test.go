package mail

import (
	"encoding/base64"
	"io"
	"os"
	"os/exec"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func newBase64(r io.Reader) io.Reader { return base64.NewDecoder(base64.StdEncoding, r) }

// needTool skips the test when a program is missing, or fails it where all tools are required.
func needTool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("VENTDUE_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is missing and VENTDUE_REQUIRE_TOOLS=1", name)
	}
	t.Skipf("%s is missing", name)
	return ""
}
