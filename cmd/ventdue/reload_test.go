package main

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"ventdue/config"
	"ventdue/store"
)

// TestReloadNeverOpensTheHouse: settings that lose the password while the daemon listens beyond this machine are not
// taken, and a request from elsewhere is refused while there is none.
func TestReloadNeverOpensTheHouse(t *testing.T) {
	dir := t.TempDir()
	load := func(env ...string) config.Config {
		t.Helper()
		cfg, err := config.Load(config.Options{Env: append(env, "VENTDUE_DATA="+dir, "VENTDUE_SOCKET="+dir+"/s", "VENTDUE_ZONE=UTC"), CheckSpec: checkSpec(time.Now)})
		if err != nil {
			t.Fatal(err)
		}
		return cfg
	}
	a := &app{stdio: stdio{Out: io.Discard, Err: io.Discard}, now: time.Now}
	d, err := a.newDaemon(load("VENTDUE_WEB_LISTEN=0.0.0.0:8921", "VENTDUE_WEB_PASSWORD=correct horse"), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.house.Close() })
	ask := func(from string) int {
		r := httptest.NewRequest(http.MethodGet, "http://localhost/api/dues", nil)
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		d.webServer().Handler.ServeHTTP(w, r.WithContext(context.Background()))
		return w.Code
	}
	d.reload = func() (config.Config, error) { return load(), nil } // as an emptied file gives it
	d.reread()
	if !d.live.Load().cfg.Web.Protected() {
		t.Fatal("settings without a password are taken while the daemon listens on every address")
	}
	if got := ask("203.0.113.9:4000"); got != http.StatusUnauthorized && got != http.StatusSeeOther && got != http.StatusForbidden {
		t.Errorf("a stranger gets %d", got)
	}
	// Even if they were: only this machine gets in without a password.
	live, err := d.assemble(load())
	if err != nil {
		t.Fatal(err)
	}
	d.live.Store(live)
	if got := ask("203.0.113.9:4000"); got != http.StatusForbidden {
		t.Errorf("a stranger gets %d without any password set", got)
	}
	if got := ask("127.0.0.1:4000"); got != http.StatusOK {
		t.Errorf("this machine gets %d", got)
	}
}
