package main

import (
	"strings"

	"ventdue/config"
	"ventdue/web"
)

// webOptions turns settings into what the pages want to know. Without a password or token, and as long as nobody has an
// account, everybody at this machine comes in; where others can reach it nobody does, but whoever has the set-up code.
func webOptions(d *theDaemon, cfg config.Config) web.Options {
	return web.Options{
		Desk: d.house.desk, Now: d.now, Log: d.log, Open: openHere(cfg), SetupCode: d.setupCode, Zone: cfg.Zone.String(), File: cfg.File, Settings: settingsOf(cfg),
		Password: cfg.Web.Password.Reveal(), PasswordHash: cfg.Web.PasswordHash.Reveal(), Token: cfg.Web.Token.Reveal(),
		TrustedProxies: cfg.Web.TrustedProxies, BaseURL: publicBase(cfg), Version: version(),
	}
}

// settingsOf lists the settings as an owner sees them: secrets as set or not set.
func settingsOf(cfg config.Config) (all []web.Setting) {
	for _, line := range strings.Split(strings.TrimSpace(cfg.String()), "\n") {
		key, value, _ := strings.Cut(line, " = ")
		all = append(all, web.Setting{Key: key, Value: value})
	}
	return all
}

// openHere reports whether the settings let everybody in who sits at this machine.
func openHere(cfg config.Config) bool { return !cfg.Web.Protected() && loopback(cfg.Web.Listen) }
