package desk

import (
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// A household: the customer is the contact, who also cleaned the vent and has a calendar.
func TestErasingLeavesTheNameNowhere(t *testing.T) {
	const name, mail = "Brona Tesk", "brona@example.com"
	d := importDesk(t, vent.Customers)
	const head = "customer_name,contact_email,address,fuel,duct_length,last_cleaned,cleaned_by,cleaner_name,parking\n"
	mustImport(t, d, 0, head+name+","+mail+",4 Alder Court,electric,12 ft,2025-10-02,customer,"+name+",\n"+
		"Ida Lund,ida@example.com,9 Heron Lane,gas,20 ft,2025-10-02,us,Ines,\n")
	if _, err := d.CreateFeed(on(1), vent.Feed{Scope: vent.OperatorScope, Name: "dates for " + name}); err != nil {
		t.Fatal(err)
	}
	all := readAll(t, d)
	err := d.Store().Update(on(2), func(tx *store.Tx) error { // a change, so that the trails show what was before
		for _, c := range all.customers {
			c.Note = "call before eight"
			if err := store.Customers.Put(tx, c, "changed"); err != nil {
				return err
			}
		}
		feeds, err := store.Collect(store.Feeds.All(tx))
		if err != nil {
			return err
		}
		for _, f := range feeds {
			f.Alarms = true
			if err := store.Feeds.Put(tx, f, "changed"); err != nil {
				return err
			}
		}
		f, err := store.Collect(store.Findings.All(tx))
		if err != nil {
			return err
		}
		for _, f := range f {
			f.Note = "two bags"
			if err := store.Findings.Put(tx, f, "corrected"); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(decoded(t, d), name) {
		t.Fatal("the name is nowhere to begin with")
	}
	out, err := d.Erase(on(3), mail)
	if err != nil {
		t.Fatal(err)
	}
	if out.Persons != 1 || out.Records != 3 || len(out.Stays) == 0 { // customer, finding, feed
		t.Errorf("erased %+v", out)
	}
	left := decoded(t, d)
	for _, word := range []string{name, mail} {
		if i := strings.Index(left, word); i >= 0 {
			t.Errorf("%q is left: %s", word, left[max(0, i-200):min(len(left), i+200)])
		}
	}
	for _, word := range []string{"Ida Lund", "ida@example.com", "Ines", "4 Alder Court", "two bags"} {
		if !strings.Contains(left, word) {
			t.Errorf("%q is gone too", word)
		}
	}
	if err := d.Store().Verify().Err(); err != nil {
		t.Error(err)
	}
}

// decoded gives an export with the trail's former records as text.
func decoded(t *testing.T, d *Desk) string {
	t.Helper()
	var trail strings.Builder
	err := d.Store().View(func(tx *store.Tx) error {
		trail.Reset()
		all := readAll(t, d)
		subjects := []vent.Subject{}
		for _, c := range all.customers {
			subjects = append(subjects, vent.Subject{Kind: vent.KindCustomer, ID: c.ID})
		}
		for _, r := range all.runs {
			subjects = append(subjects, vent.Subject{Kind: vent.KindRun, ID: r.ID})
		}
		for _, p := range all.persons {
			subjects = append(subjects, vent.Subject{Kind: vent.KindPerson, ID: p.ID})
		}
		for f, err := range store.Feeds.All(tx) {
			if err != nil {
				return err
			}
			subjects = append(subjects, vent.Subject{Kind: vent.KindFeed, ID: f.ID})
		}
		for _, s := range subjects {
			lines, err := tx.Trail(s)
			if err != nil {
				return err
			}
			for _, l := range lines {
				trail.WriteString(l.What + " ")
				trail.Write(l.Before)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return string(exportOf(t, d)) + trail.String()
}

func TestANameInsideAnotherStays(t *testing.T) {
	for text, want := range map[string]string{
		"Al": "(erased)", "dates for Al": "dates for (erased)", "Also Al, not Alma": "Also (erased), not Alma", "al ": "(erased)", "Bo": "Bo",
	} {
		if got := withoutName(text, "Al"); got != want {
			t.Errorf("%q became %q, want %q", text, got, want)
		}
	}
}
