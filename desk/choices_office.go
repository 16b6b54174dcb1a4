package desk

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// SaidToOffice is how somebody said what they want who called or wrote to the office.
const SaidToOffice = "told the office"

// ChoiceOf gives what a person chose, as it stands.
func ChoiceOf(p vent.Person) Choice {
	c := Choice{FirstDays: p.FirstDays, PausedUntil: p.PausedUntil, Language: p.Language}
	for _, purpose := range vent.Purposes() {
		if p.Wants(purpose) {
			c.Wants = append(c.Wants, purpose)
		}
	}
	return c
}

// ChooseFor writes down what a person told the office of their reminders: change is given their choice as it stands. What is
// chosen as before is not written again.
func (d *Desk) ChooseFor(by By, person vent.ID, change func(*Choice)) (p vent.Person, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		if p, err = store.Persons.Get(tx, person); err != nil {
			return err
		}
		was := ChoiceOf(p)
		c := ChoiceOf(p)
		change(&c)
		if c.FirstDays == was.FirstDays && c.PausedUntil == was.PausedUntil && c.Language == was.Language && sameWords(c.Wants, was.Wants) {
			return nil
		}
		asked := c
		if c.PausedUntil == was.PausedUntil {
			asked.PausedUntil = 0 // a pause that ran out is no new one
		}
		if c.FirstDays == was.FirstDays {
			asked.FirstDays = 0 // an operator's file may have said days that are not offered
		}
		if err := asked.check(tx.Now().DateIn(time.UTC)); err != nil {
			return err
		}
		c.put(&p, tx.Now(), SaidToOffice)
		if err := p.Valid().Err(); err != nil {
			return err
		}
		return store.Persons.Put(tx, p, "chose what to be reminded of: "+SaidToOffice)
	})
	if err != nil && !errors.As(err, new(vent.Problems)) {
		err = fmt.Errorf("write down what a person wants: %w", err)
	}
	return p, err
}

func sameWords(a, b []string) bool {
	return !slices.ContainsFunc(a, func(x string) bool { return !slices.Contains(b, x) }) && !slices.ContainsFunc(b, func(x string) bool { return !slices.Contains(a, x) })
}

// put writes a choice into a person.
func (c Choice) put(p *vent.Person, at vent.Instant, how string) {
	for _, purpose := range vent.Purposes() {
		p.Say(vent.Consent{Purpose: purpose, Given: slices.Contains(c.Wants, purpose), At: at, How: how})
	}
	p.FirstDays, p.PausedUntil, p.Language = c.FirstDays, c.PausedUntil, c.Language
}
