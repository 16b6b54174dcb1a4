package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"
)

// released is set by the release build (see the Makefile): "1.2.0".
var released = ""

// version names this program: a release's number, or the commit it was built from.
func version() string {
	if released != "" {
		return released
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unreleased"
	}
	v := "unreleased"
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			v += "-" + s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			v += "-changed"
		}
	}
	return v
}

// buildDate is the earliest day on which this program can run; zero when it was built without saying so.
func buildDate() time.Time {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return time.Time{}
	}
	for _, s := range info.Settings {
		if t, err := time.Parse(time.RFC3339, s.Value); s.Key == "vcs.time" && err == nil {
			return t
		}
	}
	return time.Time{}
}

func (a *app) versionCmd() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Say which version this is", Args: exactly(),
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(a.Out, "ventdue %s (%s, %s/%s)\n", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
}
