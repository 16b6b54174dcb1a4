package desk

import (
	"fmt"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// NewToken is an API token with its secret, which is shown this once.
type NewToken struct {
	Token  vent.Token `json:"token"`
	Secret string     `json:"secret"`
}

// MakeToken makes a token by which a program uses the JSON API.
func (d *Desk) MakeToken(by By, name string, scope vent.TokenScope) (NewToken, error) {
	secret, hash := newToken()
	t := vent.Token{Hash: hash, Name: strings.Join(strings.Fields(name), " "), Scope: scope}
	if err := t.Valid().Err(); err != nil {
		return NewToken{}, fmt.Errorf("make a token: %w", err)
	}
	err := d.store.Update(by, func(tx *store.Tx) error {
		t.ID, t.Created = tx.NewID(), tx.Now()
		if err := store.Tokens.Put(tx, t, ""); err != nil {
			return err
		}
		return noteToken(tx, t, "token made: "+t.Name+", may "+string(t.Scope))
	})
	return NewToken{Token: t, Secret: secret}, err
}

// RevokeToken ends a token at once.
func (d *Desk) RevokeToken(by By, id vent.ID) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		t, err := store.Tokens.Get(tx, id)
		if err != nil {
			return fmt.Errorf("revoke a token: %w", err)
		}
		if t.Revoked != 0 {
			return fmt.Errorf("the token %s was revoked on %s: %w", t.Name, t.Revoked, vent.ErrConflict)
		}
		t.Revoked = tx.Now()
		if err := store.Tokens.Put(tx, t, ""); err != nil {
			return err
		}
		return noteToken(tx, t, "token revoked: "+t.Name)
	})
}

// Tokens lists all tokens, revoked ones included, by birth.
func (d *Desk) Tokens() (all []vent.Token, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all, err = store.Collect(store.Tokens.All(tx))
		return err
	})
	return all, err
}

// TokenOf gives the token of a secret; ErrNotFound where there is none, or it was revoked.
func (d *Desk) TokenOf(secret string) (t vent.Token, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if t, err = store.TokenByHash(tx, HashToken(secret)); err == nil && t.Revoked != 0 {
			err = fmt.Errorf("the token %s was revoked: %w", t.Name, vent.ErrNotFound)
		}
		return err
	})
	return t, err
}

// TokenUsed writes down, now and then, that a token is in use.
func (d *Desk) TokenUsed(by By, t vent.Token) error {
	if by.Now.Sub(t.Used.Time()) < seenEvery {
		return nil
	}
	return d.store.Update(by, func(tx *store.Tx) error {
		now, err := store.Tokens.Get(tx, t.ID)
		if err != nil {
			return err
		}
		now.Used = max(now.Used, tx.Now())
		return store.Tokens.Put(tx, now, "")
	})
}

func noteToken(tx *store.Tx, t vent.Token, what string) error {
	return tx.Note(vent.Subject{Kind: vent.KindToken, ID: t.ID}, what)
}
