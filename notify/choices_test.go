package notify

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"slices"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/mail"
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
