package lint

import (
	"math"

	"ventdue/vent"
)

// ReadAt gives what instruments show at a share of the clean flow: the air speed at the outlet, m/s, and the static pressure
// at the dryer, Pa; 0 where that cannot be told. It is logShare read backwards, at the clean value as it is believed to be.
func (b *Belief) ReadAt(share float64) (speed, static float64) {
	if b.build.boosted && !b.build.ownClean {
		return 0, 0
	}
	part := share * math.Exp(b.clean+b.build.anchor)
	speed = float64(b.build.clean.OutletSpeed) * part
	shutoff, clean := float64(b.build.sys.Shutoff()), float64(b.build.clean.Static)
	if shutoff > clean && !b.build.boosted {
		static = max(0, shutoff-part*part*(shutoff-clean))
	}
	return speed, static
}

// MakerLimit gives the static pressure, Pa, above which a reading alone puts the run past its limit; not ok where the maker's
// limit tells nothing of lint, see pastMaker.
func (b *Belief) MakerLimit(dryer vent.Appliance) (most float64, ok bool) {
	limit := dryer.StaticLimit()
	return float64(limit), !b.build.noGeometry && b.build.limit.CleanStatic <= limit*4/5
}
