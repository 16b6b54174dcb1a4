package desk

import (
	"fmt"

	"ventdue/vent"
)

// SignLinks makes and reads the addresses of sign forms: for the label at the dryer and for mails. Each carries a code that
// only this installation can make, so that nobody finds the form of another dryer by trying. It does not run out: a label
// hangs for years, and all that it allows is to tell a sign.
type SignLinks struct{ linkKey }

// SignLinks gives the addresses of sign forms.
func (d *Desk) SignLinks(by By) (SignLinks, error) {
	key, err := d.linkKey(by, "sign")
	return SignLinks{key}, err
}

// Path gives the path of a run's sign form below the pages' base address.
func (l SignLinks) Path(run vent.ID) string {
	return "/s/" + l.seal(run[:])
}

// Run reads what stands behind "/s/"; vent.ErrNotFound where the code does not fit.
func (l SignLinks) Run(token string) (run vent.ID, err error) {
	x, ok := l.open(token, len(run))
	if !ok || !x.holds() {
		return run, fmt.Errorf("sign form: %w", vent.ErrNotFound)
	}
	return vent.ID(x.said), nil
}
