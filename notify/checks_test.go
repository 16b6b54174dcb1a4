package notify

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// landlord is an installation of three flats with gas dryers in one building, brought in by an import.
func landlord(t *testing.T, kind vent.OperatorKind) (*publisher, vent.ID) {
	t.Helper()
	p := publish(t)
	p.Operator(vent.Operator{Kind: kind, Name: "Hill Rentals", Zone: "America/New_York", Units: vent.US, Language: "en"})
	rows := "customer_name,contact_email,site_name,address,unit_name,fuel,installed\n"
	for _, flat := range []string{"1A", "1B", "1C"} {
		rows += "Ida Lund,ida@example.org,Maple House,12 Maple Road," + flat + ",gas,2025-03-20\n"
	}
	if r, err := p.Desk.Import(context.Background(), p.By(), desk.Source{Name: "block.csv", Reader: strings.NewReader(rows)}, desk.ImportOptions{}); err != nil || !r.Stored {
		t.Fatal(err, r.Problems.Listed)
	}
	var site vent.ID
	p.View(func(tx *store.Tx) error {
		for s, err := range store.Sites.All(tx) {
			site = s.ID
			return err
		}
		return nil
	})
	return p, site
}

// One entry for three flats, on the day, that says how and by whom; when it is done the entry goes and the next year's comes
// under another UID.
func TestChecksStandInTheCalendar(t *testing.T) {
	p, site := landlord(t, vent.Buildings)
	feed := p.feed(vent.KindSite, site).Token
	gas := func() (text string, uid string) {
		body := string(p.body(feed))
		for _, e := range strings.Split(body, "BEGIN:VEVENT")[1:] {
			e = strings.ReplaceAll(e, "\r\n ", "")
			if strings.Contains(e, "Gas connection") {
				_, rest, _ := strings.Cut(e, "UID:")
				u, _, _ := strings.Cut(rest, "\r\n")
				return e, u
			}
		}
		t.Fatalf("no entry for the gas connection:\n%s", body)
		return "", ""
	}
	entry, uid := gas()
	for _, want := range []string{"DTSTART;VALUE=DATE:20260320", "SUMMARY:Gas connection looked at and tested: Maple House", "By a licensed person only.",
		"3 of them together in one walk.", "URL:https://vents.example.com/sites/" + site.String() + "/checks", "LOCATION:12 Maple Road", "If you smell gas"} {
		if !strings.Contains(entry, want) {
			t.Errorf("the entry lacks %q:\n%s", want, entry)
		}
	}
	if n := strings.Count(string(p.body(feed)), "BEGIN:VEVENT"); n > 3+3+4 { // three cleanings, looks beside them, and the four lines of the building
		t.Errorf("%d entries for three flats", n)
	}
	s, err := p.Desk.CheckSheet(p.By(), site)
	if err != nil {
		t.Fatal(err)
	}
	var refs []string
	for _, l := range s.Lines {
		for _, x := range l.Items {
			if x.Check.Rule == rules.CheckGas {
				refs = append(refs, x.Ref)
			}
		}
	}
	// Two of three: the same entry says that one is left, with a higher SEQUENCE.
	act := func(refs []string) {
		t.Helper()
		p.Now = p.Now.Add(time.Minute)
		if _, err := p.Desk.ActOnChecks(p.By(), refs, desk.CheckAct{Do: desk.CheckDone, Who: "Tove Lind"}); err != nil {
			t.Fatal(err)
		}
	}
	act(refs[:2])
	if entry, again := gas(); again != uid || !strings.Contains(entry, "SEQUENCE:1\r\n") || strings.Contains(entry, "of them together") || !strings.Contains(entry, "Maple House\\, 1C") {
		t.Errorf("with one left:\n%s", entry)
	}
	act(refs[2:])
	if entry, again := gas(); again == uid || !strings.Contains(entry, "DTSTART;VALUE=DATE:20270302") {
		t.Errorf("the next year:\n%s", entry)
	}
}

// A reminder of checks says what, behind which doors, by whom and with what care; a button alone is no reason to unplug the
// dryer.
func TestAReminderOfChecks(t *testing.T) {
	p, _ := landlord(t, vent.Buildings)
	var got desk.Reminder
	p.Now = time.Date(2026, 4, 2, 16, 0, 0, 0, time.UTC)
	if _, err := p.Desk.Tell(context.Background(), p.By()); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Desk.Claim(p.By(), vent.ByMail, func(r desk.Reminder) (desk.Letter, error) {
		got = r
		return larkspur.Compose(r)
	}); err != nil {
		t.Fatal(err)
	}
	got.Items = slices.DeleteFunc(got.Items, func(it desk.ReminderItem) bool { return it.Due.Kind != vent.DueCheck })
	l, err := larkspur.Compose(got)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(strings.Fields(readGo(t, l.Raw).Text), " ")
	for _, want := range []string{"Wash the lint screen", "Wash the lint screen: 1A, 1B, 1C", "By a licensed person only.", "Look from the ground. Never climb for a look.",
		"Work on gas parts, valves and connectors is for licensed people only.", "If you smell gas", "Local codes"} {
		if !strings.Contains(said, want) {
			t.Errorf("the mail does not say %q:\n%s", want, said)
		}
	}
	got.Items = slices.DeleteFunc(got.Items, func(it desk.ReminderItem) bool { return it.Due.Reason.Rule != rules.CheckFlap })
	if l, err = larkspur.Compose(got); err != nil {
		t.Fatal(err)
	}
	m := readGo(t, l.Raw)
	if subject := m.Header["subject"][0]; subject != "Look at the outlet flaps today, Thu 2 April 2026: Maple House" {
		t.Errorf("subject %q", subject)
	}
	if strings.Contains(m.Text, "Unplug") || !strings.Contains(m.Text, "Never climb") {
		t.Errorf("%s", m.Text)
	}
	got.Person.Language = "es"
	if l, err = larkspur.Compose(got); err != nil {
		t.Fatal(err)
	}
	if text := readGo(t, l.Raw).Text; !strings.Contains(text, "Nunca suba para mirar.") || !strings.Contains(text, "compuerta") {
		t.Errorf("%s", text)
	}
}
