package notify

import (
	"flag"
	"os"
	"testing"

	"go.uber.org/goleak"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func TestMain(m *testing.M) {
	flag.Parse()
	if work := os.Getenv(childWork); work != "" {
		os.Exit(runChild(work))
	}
	goleak.VerifyTestMain(m)
}
