package desk

import (
	"fmt"

	"ventdue/store"
	"ventdue/vent"
)

// Founded reports whether anybody has set the installation up, or works with it without having done so.
func (d *Desk) Founded() (yes bool, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		yes = founded(tx)
		return nil
	})
	return yes, err
}

func founded(tx *store.Tx) bool {
	if store.Operators.Has(tx, vent.ID{}) {
		return true
	}
	for range store.Accounts.All(tx) {
		return true
	}
	for range store.Sites.All(tx) {
		return true
	}
	return false
}

// Found sets up an installation that is new: who runs it and, unless the password is empty, the owner's account. One that
// somebody set up in the meantime is refused with ErrConflict.
func (d *Desk) Found(by By, o vent.Operator, owner, password string) (a vent.Account, err error) {
	if err := o.Valid().Err(); err != nil {
		return a, fmt.Errorf("set up: %w", err)
	}
	if password != "" {
		if a.Password, err = hashPassword(owner, password); err != nil {
			return a, fmt.Errorf("set up: %w", err)
		}
	}
	err = d.store.Update(by, func(tx *store.Tx) error {
		if founded(tx) {
			return fmt.Errorf("set up: somebody did so already: %w", vent.ErrConflict)
		}
		if err := store.Operators.Put(tx, o, "operator set"); err != nil {
			return err
		}
		if password == "" {
			return tx.Bump(settingsScope)
		}
		a.ID, a.Name, a.Role, a.Created, a.Epoch = tx.NewID(), owner, vent.Owner, tx.Now(), tx.Now()
		if err := a.Valid().Err(); err != nil {
			return fmt.Errorf("set up: %w", err)
		}
		if err := store.Accounts.Put(tx, a, ""); err != nil {
			return err
		}
		if err := noteAccount(tx, a, "account made: "+a.Name+", "+string(a.Role)); err != nil {
			return err
		}
		return tx.Bump(settingsScope)
	})
	if err != nil {
		return a, err
	}
	return a, d.MoveHorizon(by)
}
