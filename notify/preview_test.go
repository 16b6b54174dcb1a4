package notify

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"ventdue/desk/wording"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// Every kind can be looked at in every language, by two libraries that others wrote, before there is an operator and with two
// that are set up differently.
func TestPreviewOfEveryKind(t *testing.T) {
	for _, o := range []vent.Operator{{}, {Kind: vent.Household, Name: "Home", Zone: "Pacific/Apia", Units: vent.SI, Language: "es"},
		{Kind: vent.Customers, Name: "Vents & <Sons>", Zone: "Europe/London", Units: vent.SI}} {
		for _, kind := range vent.NoticeKinds() {
			for _, lang := range wording.Languages() {
				p, err := larkspur.PreviewOf(kind, lang, o, nil, noon)
				if err != nil {
					t.Fatalf("%s.%s: %v", kind, lang, err)
				}
				m := readGo(t, p.Raw)
				if !p.Invented || p.Language != lang || m.Header["subject"][0] != p.Subject || strings.TrimSpace(m.Text) != strings.TrimSpace(p.Text) {
					t.Errorf("%s.%s: %+v", kind, lang, p)
				}
				if strings.ContainsAny(p.Subject+p.Text, "{}") || strings.Contains(p.Text, "no_date") {
					t.Errorf("%s.%s: a blank was left in\n%s\n%s", kind, lang, p.Subject, p.Text)
				}
			}
		}
	}
	if _, err := larkspur.PreviewOf("birthday", "", vent.Operator{}, nil, noon); err == nil {
		t.Error("a mail of no kind")
	}
}

// With a customer's own data a mail tells of theirs where they have such a thing, of their own home where they have not, and
// looking changes nothing.
func TestPreviewOfACustomer(t *testing.T) {
	s := scene.Start(t, noon)
	person := s.Person("Per Berg", "per@example.org")
	home := s.House("Berg", "America/New_York", person)
	scene.Change(s, store.Sites, home.Site, func(x *vent.Site) { x.Address, x.Access.Codes = "9 Quay Street", "4711" })
	s.Want(home, vent.KindFinding, scene.Clean(vent.ID{1, 15: 1}, march2.AddDays(40)))
	before := dumped(t, s)
	x, err := s.Desk.Example(s.By(), home.Customer)
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Desk.Operator()
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range vent.NoticeKinds() {
		p, err := larkspur.PreviewOf(kind, "", o, &x, noon)
		if err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
		if p.Invented != (kind != vent.NoticeRunDue) {
			t.Errorf("%s: invented %v", kind, p.Invented)
		}
		if kind == vent.NoticeSummary {
			continue
		}
		if p.To != "per@example.org" || strings.Contains(p.Text, "Maple House") || strings.Contains(p.Text, "4711") {
			t.Errorf("%s to %s:\n%s", kind, p.To, p.Text)
		}
		if kind == vent.NoticeRunDue {
			checkDead(t, s, p.Text)
		}
		if kind == vent.NoticeRunDue && !strings.Contains(p.Subject, "11 April 2026") { // 2 March and 40 days
			t.Errorf("%s: %s", kind, p.Subject)
		}
	}
	if after := dumped(t, s); !bytes.Equal(before, after) {
		t.Error("looking changed what is stored")
	}
}

// checkDead wants the links of a mail to be there, and none to open what a real one opens.
func checkDead(t *testing.T, s *scene.Scene, text string) {
	t.Helper()
	choices, err1 := s.Desk.ChoiceLinks(s.By())
	bookings, err2 := s.Desk.BookingLinks(s.By())
	signs, err3 := s.Desk.SignLinks(s.By())
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, word := range strings.Fields(text) {
		_, path, isLink := strings.Cut(word, larkspur.Pages)
		dir, token, isToken := strings.Cut(strings.TrimPrefix(path, "/"), "/")
		if !isLink || !isToken {
			continue
		}
		var err error
		switch dir {
		case "m":
			_, err = s.Desk.Choices(s.By(), choices, token)
		case "v":
			_, err = s.Desk.Booker(s.By(), bookings, token)
		case "s":
			_, err = signs.Run(token)
		default:
			continue
		}
		if n++; !errors.Is(err, vent.ErrNotFound) {
			t.Errorf("%s leads somewhere: %v", word, err)
		}
	}
	if n < 3 {
		t.Errorf("%d links in\n%s", n, text)
	}
}

// dumped gives all that is stored, the trail included.
func dumped(t *testing.T, s *scene.Scene) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := s.Desk.Export(&out); err != nil {
		t.Fatal(err)
	}
	return slices.Clone(out.Bytes())
}
