package notify

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-msgauth/dkim"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/store"
	"ventdue/vent"
)

// newKey gives a key to sign with and the record by which it is checked (RFC 8463 section 4).
func newKey(t *testing.T) (ed25519.PrivateKey, string) {
	t.Helper()
	public, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return key, "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)
}

// chooser is a sender whose mails lead to a preference page.
func chooser(s *scene.Scene, pages string) Sender {
	s.TB.Helper()
	out := larkspur
	out.Pages = pages
	var err error
	if out.Choices, err = s.Desk.ChoiceLinks(s.By()); err != nil {
		s.TB.Fatal(err)
	}
	return out
}

// A reminder over https carries both fields of RFC 8058 section 3.1 word for word, with the address that its text shows, and
// over http or without pages none; a stop never.
func TestOneClickHeader(t *testing.T) {
	s := scene.Start(t, noon)
	r := aReminder(item(1, 20, func(*desk.ReminderItem) {}))
	r.Person.ID = vent.ID{7}
	stop, visit := r, r
	stop.Message.Class, visit.Message.Class = "stop", "visit"
	for _, c := range []struct {
		pages     string
		r         desk.Reminder
		one, foot bool
	}{
		{"https://vents.example.com", r, true, true},
		{"http://vents.example.com", r, false, true},
		{"", r, false, false},
		{"https://vents.example.com", stop, false, false},
		{"https://vents.example.com", visit, false, true}, // a confirmation
	} {
		l, err := chooser(s, c.pages).Compose(c.r)
		if err != nil {
			t.Fatal(err)
		}
		m := readGo(t, l.Raw)
		where, how := strings.Join(m.Header["list-unsubscribe"], ""), strings.Join(m.Header["list-unsubscribe-post"], "")
		if one := how == "List-Unsubscribe=One-Click" && strings.HasPrefix(where, "<https://vents.example.com/m/"); one != c.one || !one && where+how != "" {
			t.Errorf("%s, class %q: %q, %q", c.pages, c.r.Message.Class, where, how)
		}
		if foot := strings.Contains(m.Text, "Choose what you are reminded of"); foot != c.foot {
			t.Errorf("%s, class %q: the foot has a link: %v", c.pages, c.r.Message.Class, foot)
		}
		if c.one && !strings.Contains(m.Text, strings.Trim(where, "<>")) {
			t.Errorf("the text does not show %s:\n%s", where, m.Text)
		}
	}
}

// RFC 8058 section 4: the signature must cover both fields. Checked with the verifier of another library.
func TestOneClickIsSigned(t *testing.T) {
	s := scene.Start(t, noon)
	key, record := newKey(t)
	signer, err := mail.NewSigner("larkspur.example.com", "s1", key)
	if err != nil {
		t.Fatal(err)
	}
	sender := chooser(s, "https://vents.example.com")
	sender.Signer = signer
	r := aReminder(item(1, 20, func(*desk.ReminderItem) {}))
	r.Person.ID = vent.ID{7}
	l, err := sender.Compose(r)
	if err != nil {
		t.Fatal(err)
	}
	got, err := dkim.VerifyWithOptions(strings.NewReader(string(l.Raw)), &dkim.VerifyOptions{LookupTXT: func(string) ([]string, error) { return []string{record}, nil }})
	if err != nil || len(got) != 1 || got[0].Err != nil {
		t.Fatalf("%+v, %v", got, err)
	}
	for _, field := range []string{"list-unsubscribe", "list-unsubscribe-post"} {
		if !slices.ContainsFunc(got[0].HeaderKeys, func(k string) bool { return strings.EqualFold(k, field) }) {
			t.Errorf("%s is not among the signed fields %v", field, got[0].HeaderKeys)
		}
	}
}

// What a person chose holds: no to all ends what waits, a pause holds until its day, an early first reminder comes early.
func TestChoicesAreKept(t *testing.T) {
	s := scene.Start(t, noon)
	carrier := &tray{}
	o := post(s, carrier)
	links := chooser(s, "https://vents.example.com").Choices
	add := func(name string, days int) (vent.ID, string) {
		id := s.Person(name, name+"@example.com")
		s.Due(s.House(name, "America/New_York", id), march2.AddDays(days))
		return id, strings.TrimPrefix(links.Path(scene.Get(s, store.Persons, id), march2), "/m/")
	}
	_, none := add("none", 20)
	_, pause := add("pause", 20)
	_, late := add("late", 20)
	_, early := add("early", 55)
	all := desk.Choice{Wants: vent.Purposes(), Language: "en"}
	choose := func(token string, edit func(*desk.Choice)) {
		c := all
		edit(&c)
		if err := s.Desk.Choose(s.By(), links, token, c); err != nil {
			t.Fatal(err)
		}
	}
	choose(pause, func(c *desk.Choice) { c.PausedUntil = march2.AddDays(10) })
	choose(late, func(c *desk.Choice) { c.FirstDays = 7 })
	choose(early, func(c *desk.Choice) { c.FirstDays = 60 })
	if _, err := s.Desk.Tell(t.Context(), s.By()); err != nil { // the message to "none" waits
		t.Fatal(err)
	}
	if err := s.Desk.Unsubscribe(s.By(), links, none, desk.SaidOneClick); err != nil {
		t.Fatal(err)
	}
	on := map[string]string{}
	for day := range 30 {
		s.Now = march2.AddDays(day).At(18*60, time.UTC) // one or two o'clock in New York
		if _, err := work(s, o); err != nil {
			t.Fatal(err)
		}
		for _, j := range carrier.take() {
			who, _, _ := strings.Cut(j.To, "@")
			on[who] += vent.DateOf(s.Now).String()[5:] + " "
		}
	}
	// By hand, for a business's customer: told 45, 21 and 7 days ahead and on the day. Due on 22 March, the step of 21 days stands
	// on 2 March, and after a pause until 12 March still; 7 days ahead is 15 March. Due on 26 April, 60 days ahead has come
	// on 2 March, and 45 days ahead is 12 March.
	want := map[string]string{"pause": "03-12 03-15 03-22 ", "late": "03-15 03-22 ", "early": "03-02 03-12 "}
	for _, who := range []string{"none", "pause", "late", "early"} {
		if on[who] != want[who] {
			t.Errorf("%s was told on %q, want %q", who, on[who], want[who])
		}
	}
}
