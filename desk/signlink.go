package desk

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"

	"ventdue/vent"
)

// signMark is how many bytes of the code stand behind the run's id.
const signMark = 16

// SignLinks makes and reads the addresses of sign forms: for the label at the dryer and for mails. Each carries a code that
// only this installation can make, so that nobody finds the form of another dryer by trying. It does not run out: a label
// hangs for years, and all that it allows is to tell a sign.
type SignLinks struct{ key []byte }

// SignLinks gives the addresses of sign forms.
func (d *Desk) SignLinks(by By) (SignLinks, error) {
	key, err := d.Key(by, "sign")
	return SignLinks{key}, err
}

// Ready reports whether addresses can be made: those of a zero value could be made by anybody.
func (l SignLinks) Ready() bool { return len(l.key) > 0 }

// Path gives the path of a run's sign form below the pages' base address.
func (l SignLinks) Path(run vent.ID) string {
	return "/s/" + base64.RawURLEncoding.EncodeToString(append(run[:], l.mark(run)...))
}

// Run reads what stands behind "/s/"; vent.ErrNotFound where the code does not fit.
func (l SignLinks) Run(token string) (run vent.ID, err error) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(token)
	if err != nil || !l.Ready() || len(b) != len(run)+signMark {
		return run, fmt.Errorf("sign form: %w", vent.ErrNotFound)
	}
	copy(run[:], b)
	if !hmac.Equal(b[len(run):], l.mark(run)) {
		return vent.ID{}, fmt.Errorf("sign form: %w", vent.ErrNotFound)
	}
	return run, nil
}

func (l SignLinks) mark(run vent.ID) []byte {
	m := hmac.New(sha256.New, l.key)
	m.Write(run[:])
	return m.Sum(nil)[:signMark]
}
