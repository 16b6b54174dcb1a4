package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"ventdue/internal/outside"
)

// TestInAnEmptyRoot proves what the container image promises without a container engine: the static binary alone, in an
// otherwise empty root, as a user without rights, with a password and on all addresses as the Dockerfile says, serves, is healthy, answers commands and stops when told.
func TestInAnEmptyRoot(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a binary")
	}
	if os.Getuid() != 0 {
		outside.Missing(t, "the right to change the root folder (run as root)")
	}
	root := emptyRoot(t)
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	env := []string{"VENTDUE_DATA=/data", "VENTDUE_WEB_LISTEN=0.0.0.0:18017", "VENTDUE_WEB_PASSWORD_FILE=/run/secrets/ventdue_password",
		"VENTDUE_ZONE=America/New_York", "HTTP_PROXY=http://192.0.2.1:9"} // TEST-NET-1 (RFC 5737): nobody answers
	secret := filepath.Join(root, "run/secrets/ventdue_password")
	in := func(args ...string) *exec.Cmd {
		c := exec.CommandContext(ctx, "/ventdue", args...)
		c.Dir, c.Env = "/", env
		c.SysProcAttr = &syscall.SysProcAttr{Chroot: root, Credential: &syscall.Credential{Uid: 10001, Gid: 10001}}
		return c
	}
	if out, err := in("serve").CombinedOutput(); err == nil || !strings.Contains(string(out), "/run/secrets/ventdue_password") {
		t.Errorf("a password that only root may read: %v %s", err, out)
	}
	if err := os.Chown(secret, 10001, 10001); err != nil { // as the README says
		t.Fatal(err)
	}
	serve := in("serve")
	var log bytes.Buffer
	serve.Stdout, serve.Stderr = &log, &log
	if err := serve.Start(); err != nil {
		t.Fatal(err)
	}
	for healthy := false; !healthy; {
		out, err := in("healthcheck").CombinedOutput()
		if healthy = err == nil; !healthy && (ctx.Err() != nil || serve.ProcessState != nil) {
			_ = serve.Process.Kill()
			_ = serve.Wait()
			t.Fatalf("never healthy: %s\n%s", out, log.String())
		}
	}
	out, err := in("setup", "--name", "Ida Moss", "--kind", "household", "--zone", "Australia/Lord_Howe").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "Lord_Howe") {
		t.Errorf("setup through the socket: %v %s", err, out)
	}
	if err := serve.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := serve.Wait(); err != nil {
		t.Errorf("stopping: %v\n%s", err, log.String())
	}
}

// emptyRoot gives a folder that holds the static binary and a data folder, nothing else.
func emptyRoot(t *testing.T) string {
	t.Helper()
	root := t.TempDir()
	build := exec.Command("go", "build", "-trimpath", "-o", filepath.Join(root, "ventdue"), ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	if err := os.MkdirAll(filepath.Join(root, "run/secrets"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "run/secrets/ventdue_password"), []byte("a long walk by the quay\n"), 0o400); err != nil {
		t.Fatal(err)
	}
	data := filepath.Join(root, "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(data, 10001, 10001); err != nil {
		t.Fatal(err)
	}
	for dir := root; dir != "/" && dir != os.TempDir(); dir = filepath.Dir(dir) { // the other user must get through
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return root
}
