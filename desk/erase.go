package desk

import (
	"errors"
	"fmt"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// Erased counts what an erasure removed.
type Erased struct {
	Persons  int `json:"persons"`
	Messages int `json:"messages"`
	Lines    int `json:"lines"`   // of the audit trail that showed the person's data
	Records  int `json:"records"` // others that said the person's name: customers, findings, feeds
	// Stays says what an erasure does not reach.
	Stays []string `json:"stays"`
}

// ErasureKeeps says what an erasure does not reach, for whoever has promised somebody to be forgotten.
func ErasureKeeps() []string {
	return []string{
		"addresses and names of buildings and doors, what somebody wrote into notes, and mails to others that name them",
		"backups and exports made before, until you remove them",
		"the data file's free space, until it is used again; an export that is imported into a new installation leaves it behind",
		"the sheet the person came from: importing it again brings them back",
	}
}

// Erase removes the name, the addresses and the mails of everybody who fits an e-mail address, an own key or an id:
// from the record, from what was sent, from the history, and the name from the customers, findings and feeds that say
// it. What was done to runs stays, without the name; see ErasureKeeps for what else.
func (d *Desk) Erase(by By, who string) (out Erased, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = Erased{Stays: ErasureKeeps()}
		persons, err := findPersons(tx, who)
		if err != nil {
			return err
		}
		for _, p := range persons {
			n, err := erasePerson(tx, p)
			if err != nil {
				return fmt.Errorf("erase %s: %w", p.ID, err)
			}
			out.Persons++
			out.Messages += n.Messages
			out.Lines += n.Lines
			out.Records += n.Records
		}
		return nil
	})
	return out, err
}

func erasePerson(tx *store.Tx, p vent.Person) (n Erased, err error) {
	subject := vent.Subject{Kind: vent.KindPerson, ID: p.ID}
	messages, err := store.Collect(store.MessagesTo(tx, p.ID))
	if err != nil {
		return n, err
	}
	for _, m := range messages {
		m.To, m.Raw, m.Answer, m.ReturnWhy = "", nil, "", ""
		if !m.State.Settled() {
			m.State, m.Settled = vent.MessageSuppressed, tx.Now()
		}
		if err := store.Messages.Put(tx, m, ""); err != nil {
			return n, err
		}
		n.Messages++
	}
	if err := eraseReasons(tx, p.ID); err != nil {
		return n, err
	}
	blank := vent.Person{ID: p.ID, Name: erasedName, Role: p.Role}
	if err := store.Persons.Put(tx, blank, ""); err != nil {
		return n, err
	}
	if n.Lines, err = tx.EraseTrail(subject); err != nil {
		return n, err
	}
	accounts, err := eraseAccounts(tx, p.ID)
	if err != nil {
		return n, err
	}
	n.Records += accounts
	t := traces{tx: tx, p: p}
	lines, err := t.clean()
	if err != nil {
		return n, err
	}
	n.Lines, n.Records = n.Lines+lines, n.Records+t.n
	if err := tx.SetWake(store.WakeTell, p.ID, 0); err != nil {
		return n, err
	}
	return n, tx.Note(subject, "erased")
}

// eraseAccounts takes away the accounts by which the person signed in, with what the trail says of them.
func eraseAccounts(tx *store.Tx, person vent.ID) (n int, err error) {
	all, err := store.Collect(store.AccountsOf(tx, person))
	if err != nil {
		return 0, err
	}
	for _, a := range all {
		if err := store.Accounts.Delete(tx, a.ID, ""); err != nil {
			return n, err
		}
		if _, err := tx.EraseTrail(vent.Subject{Kind: vent.KindAccount, ID: a.ID}); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// eraseReasons clears why a person was not told things: servers' words hold addresses.
func eraseReasons(tx *store.Tx, person vent.ID) error {
	all, err := store.Collect(store.NoticesFor(tx, person))
	if err != nil {
		return err
	}
	for _, n := range all {
		if n.Why == "" {
			continue
		}
		n.Why = ""
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return err
		}
	}
	return nil
}

// findPersons gives who fits an id, an own key, or an e-mail address; ErrNotFound when nobody does.
func findPersons(tx *store.Tx, who string) ([]vent.Person, error) {
	who = strings.TrimSpace(who)
	if id, err := vent.ParseID(who); err == nil {
		p, err := store.Persons.Get(tx, id)
		return []vent.Person{p}, err
	}
	p, err := store.PersonByRef(tx, who)
	if err == nil {
		return []vent.Person{p}, nil
	}
	if !errors.Is(err, vent.ErrNotFound) {
		return nil, err
	}
	all, err := store.Collect(store.PersonsByMail(tx, who))
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("nobody has the e-mail address, key or id %q: %w", who, vent.ErrNotFound)
	}
	return all, err
}

// FindPerson resolves an id, an own key or an e-mail address to one person; several with one address are refused.
func (d *Desk) FindPerson(who string) (id vent.ID, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		fits, err := findPersons(tx, who)
		if err != nil {
			return err
		}
		if len(fits) > 1 {
			return fmt.Errorf("%d people have the address %q: give an id: %w", len(fits), who, vent.ErrConflict)
		}
		id = fits[0].ID
		return nil
	})
	return id, err
}
