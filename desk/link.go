package desk

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"strings"
)

// linkMark is how many bytes of the code stand behind what a link says: 128 bits, more than anybody can try.
const linkMark = 16

// linkKey makes and reads the links that are given out without an account. A link says what it is for, with a code over it that
// only this installation can make (HMAC, RFC 2104): nothing is stored for it, and the same link can be given out again. Each
// purpose has a key of its own, so that no link is taken for another's.
type linkKey struct{ key []byte }

// linkKey gives the key of a purpose.
func (d *Desk) linkKey(by By, purpose string) (linkKey, error) {
	key, err := d.Key(by, purpose)
	return linkKey{key}, err
}

// Ready reports whether links can be made: those of a zero value could be made by anybody.
func (k linkKey) Ready() bool { return len(k.key) > 0 }

// seal writes a link that says something. What else it holds for, such as the address that was mailed, is under the code
// and does not stand in it.
func (k linkKey) seal(said []byte, also ...string) string {
	return base64.RawURLEncoding.EncodeToString(append(append([]byte(nil), said...), k.mark(said, also)...))
}

// sealed is a link as it came back: what it says, and a code that is still to be compared.
type sealed struct {
	key        linkKey
	said, mark []byte
}

// open takes a link apart; none where it cannot be one that says so many bytes.
func (k linkKey) open(token string, bytes int) (x sealed, ok bool) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(token)
	if err != nil || !k.Ready() || len(b) != bytes+linkMark {
		return x, false
	}
	return sealed{k, b[:bytes], b[bytes:]}, true
}

// holds reports whether the code is this installation's for what the link says and for what else it has to hold.
func (x sealed) holds(also ...string) bool { return hmac.Equal(x.mark, x.key.mark(x.said, also)) }

func (k linkKey) mark(said []byte, also []string) []byte {
	m := hmac.New(sha256.New, k.key)
	m.Write(said)
	for _, s := range also {
		m.Write([]byte("\x00" + strings.ToLower(s)))
	}
	return m.Sum(nil)[:linkMark]
}
