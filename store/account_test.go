package store

import (
	"errors"
	"testing"

	"ventdue/vent"
)

// Accounts and tokens move with an export, and the trail never holds what a password or secret is checked against.
func TestAccountsAndTokensMove(t *testing.T) {
	old := opened(t)
	at := vent.InstantOf(t0)
	account := vent.Account{ID: id(87), Name: "Ida  LUND", Role: vent.Technician, Password: "$2a$10$xyz", PersonID: id(1), Language: "es", Created: at, Epoch: at, Seen: at + 5}
	token := vent.Token{ID: id(88), Hash: []byte("0edcba9876543210fedcba9876543210"), Name: "till", Scope: vent.TokenRead, Created: at, Revoked: at + 9, Used: at + 5}
	sample(t, old)
	update(t, old, 0, func(tx *Tx) error {
		return errors.Join(Accounts.Put(tx, account, "made"), Tokens.Put(tx, token, "made"))
	})
	before := account
	account.Password = "$2a$10$abc"
	update(t, old, 0, func(tx *Tx) error { return Accounts.Put(tx, account, "changed") })

	moved := opened(t)
	loadedFrom(t, moved, dumped(t, old))
	view(t, moved, func(tx *Tx) error {
		a, err := AccountByName(tx, " ida lund")
		equal(t, "account", a, account)
		of, err2 := Collect(AccountsOf(tx, id(1)))
		if len(of) != 2 || of[0].ID != account.ID {
			t.Errorf("accounts of the person: %v", of)
		}
		x, err3 := TokenByHash(tx, token.Hash)
		equal(t, "token", x, token)
		for _, s := range []vent.Subject{{Kind: vent.KindAccount, ID: before.ID}, {Kind: vent.KindToken, ID: token.ID}} {
			trail, err := tx.Trail(s)
			if err != nil || len(trail) != 0 {
				t.Errorf("the trail of %s holds %v, %v", s, trail, err)
			}
		}
		return errors.Join(err, err2, err3)
	})
	if r := moved.Verify(); len(r.Problems) > 0 {
		t.Error(r.Problems)
	}
	err := moved.Update(stamp(0), func(tx *Tx) error {
		return Accounts.Put(tx, vent.Account{ID: id(89), Name: "IDA LUND", Role: vent.Office, Password: "x"}, "")
	})
	if !errors.Is(err, vent.ErrConflict) {
		t.Errorf("a second account of one name: %v", err)
	}
}
