package main

import (
	"ventdue/config"
	"ventdue/web"
)

// webOptions turns settings into what the pages want to know. Without a password or token nobody signs in: settings
// refuse to listen beyond this machine then.
func webOptions(d *theDaemon, cfg config.Config) web.Options {
	return web.Options{
		Desk: d.house.desk, Now: d.now, Log: d.log, Open: !cfg.Web.Protected(),
		Password: cfg.Web.Password.Reveal(), PasswordHash: cfg.Web.PasswordHash.Reveal(), Token: cfg.Web.Token.Reveal(),
		TrustedProxies: cfg.Web.TrustedProxies, BaseURL: publicBase(cfg), Version: version(),
	}
}
