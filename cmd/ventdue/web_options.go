package main

import (
	"ventdue/config"
	"ventdue/web"
)

// webOptions turns settings into what the pages want to know. Without a password or token, and as long as nobody has an
// account, everybody at this machine comes in; where others can reach it nobody does, but whoever has the set-up code.
func webOptions(d *theDaemon, cfg config.Config) web.Options {
	return web.Options{
		Desk: d.house.desk, Now: d.now, Log: d.log, Open: openHere(cfg), SetupCode: d.setupCode, Zone: cfg.Zone.String(),
		Password: cfg.Web.Password.Reveal(), PasswordHash: cfg.Web.PasswordHash.Reveal(), Token: cfg.Web.Token.Reveal(),
		TrustedProxies: cfg.Web.TrustedProxies, BaseURL: publicBase(cfg), Version: version(),
	}
}

// openHere reports whether the settings let everybody in who sits at this machine.
func openHere(cfg config.Config) bool { return !cfg.Web.Protected() && loopback(cfg.Web.Listen) }
