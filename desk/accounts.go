package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"golang.org/x/crypto/bcrypt"

	"ventdue/store"
	"ventdue/vent"
)

const (
	// MinPassword is the least length of a password, in characters; what a person can remember and a guesser cannot reach at
	// the pace that the pages allow. Ours.
	MinPassword = 10
	// MaxPassword is how far bcrypt looks, in bytes: a longer password would be compared in part.
	MaxPassword = 72
	// seenEvery is how often it is written down that somebody is here.
	seenEvery = 10 * time.Minute
)

// Access is an account as it is asked for.
type Access struct {
	Name     string
	Role     vent.Role
	Language string // of the pages; "" is the operator's
	// Person is the technician, by id, own key or e-mail address; "" is the technician of the account's name, who is made
	// where there is none.
	Person string
}

// AddAccount makes an account with its first password. A name that somebody has already is refused with ErrConflict.
func (d *Desk) AddAccount(by By, x Access, password string) (a vent.Account, err error) {
	a.Name = strings.Join(strings.Fields(x.Name), " ")
	if a.Password, err = hashPassword(a.Name, password); err != nil {
		return a, fmt.Errorf("make an account: %w", err)
	}
	err = d.store.Update(by, func(tx *store.Tx) error {
		a.ID, a.Created, a.Epoch, a.PersonID = tx.NewID(), tx.Now(), tx.Now(), vent.ID{}
		if err := x.onto(tx, &a); err != nil {
			return fmt.Errorf("make an account: %w", err)
		}
		if err := store.Accounts.Put(tx, a, ""); err != nil {
			return nameTaken(err, a)
		}
		return noteAccount(tx, a, "account made: "+a.Name+", "+string(a.Role))
	})
	return a, err
}

// ChangeAccount gives an account another role, language or technician; the role holds from the next page on.
func (d *Desk) ChangeAccount(by By, id vent.ID, x Access) (a vent.Account, err error) {
	err = d.changeAccount(by, id, func(tx *store.Tx, v *vent.Account) (string, error) {
		was := v.Role
		if x.Name != "" {
			v.Name = strings.Join(strings.Fields(x.Name), " ")
		}
		if err := x.onto(tx, v); err != nil {
			return "", err
		}
		if was == vent.Owner && v.Role != vent.Owner {
			if err := anotherOwner(tx, id); err != nil {
				return "", err
			}
		}
		a = *v
		return "account changed: " + v.Name + ", " + string(v.Role), nil
	})
	return a, err
}

// SetPassword gives an account a new password and signs it out everywhere.
func (d *Desk) SetPassword(by By, id vent.ID, password string) (a vent.Account, err error) {
	if a, err = d.Account(id); err != nil {
		return a, fmt.Errorf("set a password: %w", err)
	}
	hash, err := hashPassword(a.Name, password)
	if err != nil {
		return a, fmt.Errorf("set a password: %w", err)
	}
	err = d.changeAccount(by, id, func(tx *store.Tx, v *vent.Account) (string, error) {
		v.Password, v.Epoch = hash, max(tx.Now(), v.Epoch+1)
		a = *v
		return "new password: " + v.Name, nil
	})
	return a, err
}

// SignOutAccount ends all sign-ins of an account.
func (d *Desk) SignOutAccount(by By, id vent.ID) error {
	return d.changeAccount(by, id, func(tx *store.Tx, v *vent.Account) (string, error) {
		v.Epoch = max(tx.Now(), v.Epoch+1)
		return "signed out everywhere: " + v.Name, nil
	})
}

// RemoveAccount takes away an account. The last owner's is refused with ErrConflict: nobody could make another.
func (d *Desk) RemoveAccount(by By, id vent.ID) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		a, err := store.Accounts.Get(tx, id)
		if err != nil {
			return fmt.Errorf("remove an account: %w", err)
		}
		if a.Role == vent.Owner {
			if err := anotherOwner(tx, id); err != nil {
				return err
			}
		}
		if err := store.Accounts.Delete(tx, id, ""); err != nil {
			return err
		}
		return noteAccount(tx, a, "account removed: "+a.Name)
	})
}

// Account gives one account.
func (d *Desk) Account(id vent.ID) (a vent.Account, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		a, err = store.Accounts.Get(tx, id)
		return err
	})
	return a, err
}

// AccountNamed gives the account of a name, an id or a name written otherwise; ErrNotFound where there is none.
func (d *Desk) AccountNamed(name string) (a vent.Account, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if id, e := vent.ParseID(strings.TrimSpace(name)); e == nil {
			a, err = store.Accounts.Get(tx, id)
			return err
		}
		a, err = store.AccountByName(tx, name)
		if errors.Is(err, vent.ErrNotFound) {
			err = fmt.Errorf("no account is called %q: %w", name, vent.ErrNotFound)
		}
		return err
	})
	return a, err
}

// Accounts lists all accounts by name.
func (d *Desk) Accounts() (all []vent.Account, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all, err = store.Collect(store.Accounts.All(tx))
		return err
	})
	slices.SortFunc(all, func(a, b vent.Account) int {
		return strings.Compare(vent.AccountName(a.Name), vent.AccountName(b.Name))
	})
	return all, err
}

// AnyAccount reports whether there is an account at all.
func (d *Desk) AnyAccount() (any bool, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		any = false
		for _, err := range store.Accounts.All(tx) {
			any = err == nil
			return err
		}
		return nil
	})
	return any, err
}

// AccountSeen writes down, now and then, that somebody is at work with an account.
func (d *Desk) AccountSeen(by By, a vent.Account) error {
	if by.Now.Sub(a.Seen.Time()) < seenEvery {
		return nil
	}
	return d.changeAccount(by, a.ID, func(tx *store.Tx, v *vent.Account) (string, error) {
		v.Seen = max(v.Seen, tx.Now())
		return "", nil
	})
}

// PasswordFits compares a password with a hash. Without a hash the work is done all the same, so that the time tells
// nobody whether there is an account.
func PasswordFits(hash, password string) bool {
	if hash == "" {
		hash = nobodysHash
	}
	return len(password) <= MaxPassword && bcrypt.CompareHashAndPassword([]byte(hash), []byte(password)) == nil && hash != nobodysHash
}

// nobodysHash is the bcrypt hash of random bytes that were thrown away.
const nobodysHash = "$2a$10$N9qo8uLOickgx2ZMRZoMyeIjZAgcfl7p92ldGxad68LJZdL17lhWy"

func hashPassword(name, password string) (string, error) {
	var p vent.Problems
	switch {
	case len([]rune(password)) < MinPassword:
		p.Add("password", "", "is too short: take at least %d characters", MinPassword)
	case len(password) > MaxPassword:
		p.Add("password", "", "is longer than %d bytes: take a shorter one", MaxPassword)
	case vent.AccountName(password) == vent.AccountName(name):
		p.Add("password", "", "is the name: take another one")
	}
	if err := p.Err(); err != nil {
		return "", err
	}
	hash, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.DefaultCost)
	return string(hash), err
}

// onto writes what was asked for into an account, and finds or makes its technician.
func (x Access) onto(tx *store.Tx, a *vent.Account) (err error) {
	a.Role, a.Language = x.Role, x.Language
	switch {
	case x.Person != "":
		fits, err := findPersons(tx, x.Person)
		if err != nil {
			return err
		}
		if len(fits) > 1 {
			return fmt.Errorf("%d people have the address %q: give an id: %w", len(fits), x.Person, vent.ErrConflict)
		}
		a.PersonID = fits[0].ID
	case x.Role == vent.Technician && a.PersonID.IsZero():
		if a.PersonID, err = technicianNamed(tx, a.Name); err != nil {
			return err
		}
	}
	return a.Valid().Err()
}

// technicianNamed gives the technician of a name, made where there is none.
func technicianNamed(tx *store.Tx, name string) (vent.ID, error) {
	for p, err := range store.Persons.All(tx) {
		if err != nil {
			return vent.ID{}, err
		}
		if p.Role == vent.Technician && vent.AccountName(p.Name) == vent.AccountName(name) {
			return p.ID, nil
		}
	}
	p := vent.Person{ID: tx.NewID(), Name: name, Role: vent.Technician}
	if err := p.Valid().Err(); err != nil {
		return vent.ID{}, err
	}
	return p.ID, store.Persons.Put(tx, p, "technician made with an account")
}

func (d *Desk) changeAccount(by By, id vent.ID, change func(*store.Tx, *vent.Account) (what string, err error)) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		a, err := store.Accounts.Get(tx, id)
		if err != nil {
			return fmt.Errorf("change an account: %w", err)
		}
		what, err := change(tx, &a)
		if err != nil {
			return fmt.Errorf("change the account %s: %w", a.Name, err)
		}
		if err := store.Accounts.Put(tx, a, ""); err != nil {
			return nameTaken(err, a)
		}
		return noteAccount(tx, a, what)
	})
}

func noteAccount(tx *store.Tx, a vent.Account, what string) error {
	if what == "" {
		return nil
	}
	return tx.Note(vent.Subject{Kind: vent.KindAccount, ID: a.ID}, what)
}

func nameTaken(err error, a vent.Account) error {
	if errors.Is(err, vent.ErrConflict) {
		return fmt.Errorf("somebody is called %q already: take another name: %w", a.Name, vent.ErrConflict)
	}
	return err
}

// anotherOwner refuses with ErrConflict where nobody else is an owner.
func anotherOwner(tx *store.Tx, than vent.ID) error {
	for a, err := range store.Accounts.All(tx) {
		if err != nil {
			return err
		}
		if a.Role == vent.Owner && a.ID != than {
			return nil
		}
	}
	return fmt.Errorf("this is the only owner: make another one first: %w", vent.ErrConflict)
}
