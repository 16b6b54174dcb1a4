package desk

import (
	"errors"
	"strings"
	"testing"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

const goodPassword = "three wet towels"

func mustAdd(t *testing.T, d *Desk, x Access) vent.Account {
	t.Helper()
	a, err := d.AddAccount(on(0), x, goodPassword)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAccounts(t *testing.T) {
	d := importDesk(t, vent.Customers)
	owner := mustAdd(t, d, Access{Name: " Ida \t Lund ", Role: vent.Owner})
	if owner.Name != "Ida Lund" || !PasswordFits(owner.Password, goodPassword) || PasswordFits(owner.Password, goodPassword+"x") || strings.Contains(owner.Password, goodPassword) {
		t.Errorf("made %+v", owner)
	}
	for name, c := range map[string]struct {
		x        Access
		password string
		want     error
	}{
		"taken":          {Access{Name: "ida lund", Role: vent.Office}, goodPassword, vent.ErrConflict},
		"no name":        {Access{Name: " ", Role: vent.Office}, goodPassword, vent.ErrInvalid},
		"no role":        {Access{Name: "Per"}, goodPassword, vent.ErrInvalid},
		"short":          {Access{Name: "Per", Role: vent.Office}, "123456789", vent.ErrInvalid},
		"long":           {Access{Name: "Per", Role: vent.Office}, strings.Repeat("x", 73), vent.ErrInvalid},
		"the name":       {Access{Name: "Per Lindqvist", Role: vent.Office}, "per  LINDQVIST", vent.ErrInvalid},
		"unknown person": {Access{Name: "Per", Role: vent.Technician, Person: "nobody@example.com"}, goodPassword, vent.ErrNotFound},
	} {
		if _, err := d.AddAccount(on(0), c.x, c.password); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	tech := mustAdd(t, d, Access{Name: "Per", Role: vent.Technician})
	if err := d.Store().View(func(tx *store.Tx) error {
		p, err := store.Persons.Get(tx, tech.PersonID)
		if p.Name != "Per" || p.Role != vent.Technician {
			t.Errorf("the technician is %+v", p)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	// The only owner stays one.
	if err := d.RemoveAccount(on(1), owner.ID); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("the last owner is removed: %v", err)
	}
	if _, err := d.ChangeAccount(on(1), owner.ID, Access{Role: vent.Office}); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("the last owner becomes office: %v", err)
	}
	second := mustAdd(t, d, Access{Name: "Zoe", Role: vent.Owner})
	if _, err := d.ChangeAccount(on(1), owner.ID, Access{Role: vent.Office, Language: "es"}); err != nil {
		t.Error(err)
	}
	again, err := d.SetPassword(on(2), owner.ID, "four dry towels")
	if err != nil || again.Epoch <= owner.Epoch || PasswordFits(again.Password, goodPassword) || again.Role != vent.Office || again.Language != "es" {
		t.Errorf("with a new password: %+v, %v", again, err)
	}
	if err := d.RemoveAccount(on(3), owner.ID); err != nil {
		t.Error(err)
	}
	if _, err := d.AccountNamed("Ida Lund"); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("a removed account: %v", err)
	}
	if all, err := d.Accounts(); err != nil || len(all) != 2 || all[0].Name != "Per" || all[1].ID != second.ID {
		t.Errorf("%v, %v", all, err)
	}
	if b := decoded(t, d); strings.Contains(b, goodPassword) {
		t.Error("the password itself is kept somewhere")
	}
}

// An account's last sign of life is written down now and then, not at every page.
func TestSeenIsWrittenNowAndThen(t *testing.T) {
	d := importDesk(t, vent.Customers)
	a := mustAdd(t, d, Access{Name: "Ida", Role: vent.Owner})
	at := on(1)
	for range 3 {
		if err := d.AccountSeen(at, a); err != nil {
			t.Fatal(err)
		}
		a, _ = d.Account(a.ID)
	}
	commits := d.Store().Commits()
	at.Now = at.Now.Add(seenEvery - time.Second)
	if err := d.AccountSeen(at, a); err != nil || d.Store().Commits() != commits || a.Seen != vent.InstantOf(on(1).Now) {
		t.Errorf("seen %s, %v", a.Seen, err)
	}
	trail := 0
	_ = d.Store().View(func(tx *store.Tx) error {
		all, err := tx.Trail(vent.Subject{Kind: vent.KindAccount, ID: a.ID})
		trail = len(all)
		return err
	})
	if trail != 1 {
		t.Errorf("%d lines of the trail", trail)
	}
}

func TestTokens(t *testing.T) {
	d := importDesk(t, vent.Customers)
	made, err := d.MakeToken(on(0), "till ", vent.TokenRead)
	if err != nil || made.Token.Name != "till" || len(made.Secret) != 32 {
		t.Fatalf("%+v, %v", made, err)
	}
	if got, err := d.TokenOf(made.Secret); err != nil || got.ID != made.Token.ID {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := d.TokenOf(made.Secret + "x"); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("a wrong secret: %v", err)
	}
	if err := d.TokenUsed(on(1), made.Token); err != nil {
		t.Error(err)
	}
	if err := d.RevokeToken(on(2), made.Token.ID); err != nil {
		t.Error(err)
	}
	if err := d.RevokeToken(on(2), made.Token.ID); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("revoked twice: %v", err)
	}
	if _, err := d.TokenOf(made.Secret); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("a revoked token: %v", err)
	}
	if all, err := d.Tokens(); err != nil || len(all) != 1 || all[0].Used == 0 || all[0].Revoked == 0 {
		t.Errorf("%+v, %v", all, err)
	}
	if _, err := d.MakeToken(on(0), "x", "erase"); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("an unknown scope: %v", err)
	}
	if strings.Contains(decoded(t, d), made.Secret) {
		t.Error("the secret is kept")
	}
	for held, may := range map[vent.TokenScope][]bool{vent.TokenRead: {true, false, false}, vent.TokenRecord: {true, true, false}, vent.TokenAll: {true, true, true}, "": {false, false, false}} {
		for i, need := range []vent.TokenScope{vent.TokenRead, vent.TokenRecord, vent.TokenAll} {
			if held.Holds(need) != may[i] {
				t.Errorf("%q holds %q: %v", held, need, !may[i])
			}
		}
	}
}

// Whoever is erased cannot sign in any more, and the account's name is gone.
func TestErasingTakesTheAccount(t *testing.T) {
	d := importDesk(t, vent.Customers)
	a := mustAdd(t, d, Access{Name: "Brona Tesk", Role: vent.Technician})
	if _, err := d.MakeToken(on(0), "phone of Brona Tesk", vent.TokenRecord); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Erase(on(1), a.PersonID.String()); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Account(a.ID); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("the account: %v", err)
	}
	if strings.Contains(decoded(t, d), "Brona") {
		t.Error("the name is still there")
	}
	if r := d.Store().Verify(); len(r.Problems) > 0 {
		t.Error(r.Problems)
	}
}

// A technician opens the runs of the buildings they are sent to, from the evening before to a week after.
func TestOnDuty(t *testing.T) {
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, "run_ref,customer_name,address,fuel\nR1,Ida Lund,9 Heron Lane,gas\nR2,Per Holm,4 Alder Court,gas\n")
	a := mustAdd(t, d, Access{Name: "Per", Role: vent.Technician})
	here, there := runID(t, d, "R1"), runID(t, d, "R2")
	view, err := d.Run(on(0), here)
	if err != nil {
		t.Fatal(err)
	}
	site := view.Site.ID
	state := vent.Booked
	put := func() {
		err := d.Store().Update(on(0), func(tx *store.Tx) error {
			r, err := store.Runs.Get(tx, here)
			if err != nil {
				return err
			}
			day := vent.InstantOf(on(20).Now).DateIn(time.UTC)
			return store.Visits.Put(tx, vent.Visit{ID: vent.ID{1}, SiteID: r.SiteID, TechnicianID: a.PersonID, On: day, Start: 540, Minutes: 60,
				Zone: "UTC", State: state, UID: "u1"}, "booked")
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	put()
	for day, want := range map[int]bool{18: false, 19: true, 20: true, 27: true, 28: false} {
		if yes, err := d.OnDuty(on(day), a.PersonID, here); err != nil || yes != want {
			t.Errorf("day %d: %v, %v", day, yes, err)
		}
		if yes, err := d.OnDutyAt(on(day), a.PersonID, site); err != nil || yes != want {
			t.Errorf("day %d at the site: %v, %v", day, yes, err)
		}
	}
	if yes, err := d.OnDuty(on(20), a.PersonID, there); yes || err != nil {
		t.Errorf("another building: %v, %v", yes, err)
	}
	if yes, err := d.OnDuty(on(20), vent.ID{9}, here); yes || err != nil {
		t.Errorf("another technician: %v, %v", yes, err)
	}
	state = vent.Cancelled
	put()
	if yes, err := d.OnDuty(on(20), a.PersonID, here); yes || err != nil {
		t.Errorf("a cancelled visit: %v, %v", yes, err)
	}
}
