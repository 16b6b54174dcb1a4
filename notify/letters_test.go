package notify

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/internal/scene"
	"ventdue/notify/calendar/strict"
	"ventdue/vent"
)

// aVisit is a visit to the first flat some days from the day of the letter, at half past two.
func aVisit(kind vent.NoticeKind, days int) desk.ReminderItem {
	home := item(1, 9)
	state := vent.Booked
	if kind == vent.NoticeVisitCancelled {
		state = vent.Cancelled
	}
	v := &desk.VisitItem{
		Visit: vent.Visit{ID: vent.ID{3, 15: 1}, On: march2.AddDays(days), Start: 14*60 + 30, Minutes: 60, Zone: "America/New_York", State: state,
			UID: "0c2f-visit", Created: 1_772_400_000, Modified: 1_772_400_000},
		Part: vent.Appointment{ID: vent.ID{4, 15: 1}, Start: 14*60 + 30, Minutes: 60, State: state, UID: "0c2f-part", Sequence: 3,
			Created: 1_772_400_000, Modified: 1_772_450_000},
		Site: home.Site, Unit: home.Unit, Customer: home.Customer, Technician: "Tom Reed", Work: []desk.DueView{home.DueView},
		Said: vent.Notice{Day: march2.AddDays(days + 2), Start: 9 * 60}, Occupant: kind == vent.NoticeEntry,
	}
	return desk.ReminderItem{Kind: kind, Step: vent.Step(kind), Visit: v}
}

func aRecord() desk.ReminderItem {
	home := item(1, 365)
	flow := vent.Reading{Quantity: vent.AirSpeed, Value: 7.62}
	return desk.ReminderItem{Kind: vent.NoticeRecord, Step: "recorded", Dryer: home.Dryer, Record: &desk.RecordItem{
		Finding: vent.Finding{ID: vent.ID{5, 15: 1}, Date: march2, Outcome: vent.Full, Reach: vent.ReachThrough, LintBefore: vent.Mat, LintAfter: vent.Bare,
			After: []vent.Reading{flow}, By: vent.Doer{Kind: vent.ByUs}},
		Place: home.Place, Dues: []vent.Due{home.Due}, Faults: []vent.Fault{{Rule: "foil_transition", State: vent.FaultOpen, Severity: vent.Fix}}}}
}

func aSummary() desk.ReminderItem {
	late := item(1, -20)
	s := &desk.Summary{Today: march2, Held: 3,
		Spent:       desk.Lines[desk.DueView]{First: []desk.DueView{late.DueView}, N: 30},
		Unbooked:    desk.Lines[desk.DueView]{First: []desk.DueView{item(2, 9).DueView}, N: 1},
		Unwritten:   desk.Lines[desk.VisitView]{First: []desk.VisitView{{Visit: vent.Visit{On: march2.AddDays(-1), Start: 600}, Site: late.Site}}, N: 1},
		Untold:      desk.Lines[desk.Untold]{First: []desk.Untold{{Customer: vent.Customer{Name: "Berg"}}}, N: 1},
		Undelivered: desk.Lines[desk.UndeliveredMail]{First: []desk.UndeliveredMail{{Message: vent.Message{To: "per@example.com", Answer: "550 no such mailbox"}, Name: "Per Berg"}}, N: 1}}
	return desk.ReminderItem{Kind: vent.NoticeSummary, Step: "summary_2026-03-02", Summary: s}
}

func asCheck(it *desk.ReminderItem) {
	it.Kind, it.Due.Kind = vent.NoticeCheckDue, vent.DueCheck
	it.Due.Reason = vent.Reason{Bound: vent.BoundInterval, Rule: "gas_connection", Months: 12, Since: march2.AddMonths(-12)}
}

func asFault(it *desk.ReminderItem) {
	it.Kind, it.Due.Kind, it.Due.Severity = vent.NoticeFault, vent.DueFault, vent.Fix
	it.Due.Reason = vent.Reason{Bound: vent.BoundCorrective, Rule: "flap_stuck", Since: march2.AddDays(-3)}
}

func asStop(it *desk.ReminderItem) {
	asFault(it)
	it.Kind, it.Due.Severity, it.Due.Reason.Rule, it.Dryer.Fuel = vent.NoticeStop, vent.Stop, "burning_reported", vent.Gas
}

// letters are one letter of each kind, and a digest of several.
func letters() map[string]desk.Reminder {
	all := map[string]desk.Reminder{}
	put := func(name, class string, items ...desk.ReminderItem) {
		r := aReminder(items...)
		r.Message.Class = class
		all[name] = r
	}
	put("run_due", "reminder", item(1, 7))
	put("check_due", "reminder", item(1, 7, asCheck))
	put("fault", "reminder", item(1, 4, asFault))
	put("stop", "stop", item(1, 0, asStop))
	put("visit_soon", "reminder", aVisit(vent.NoticeVisitSoon, 1))
	put("digest", "reminder", aVisit(vent.NoticeVisitSoon, 1), item(1, 7), item(2, 4, asFault), item(3, 7, asCheck))
	for _, k := range []vent.NoticeKind{vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled, vent.NoticeEntry} {
		put(string(k), "visit", aVisit(k, 9))
	}
	put("record", "record", aRecord())
	put("summary", "summary", aSummary())
	return all
}

// Each kind in each language is kept as a golden file, read back by two libraries that others wrote, and held against the
// standards.
func TestGoldenLetters(t *testing.T) {
	for name, r := range letters() {
		for _, lang := range wording.Languages() {
			t.Run(name+"."+lang, func(t *testing.T) {
				r.Person.Language = lang
				l := composed(t, larkspur, r)
				path := filepath.Join("testdata", "letters", name+"."+lang+".eml")
				if *update {
					if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
						t.Fatal(err)
					}
					if err := os.WriteFile(path, l.Raw, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				if want, err := os.ReadFile(path); err != nil || !bytes.Equal(l.Raw, want) {
					t.Errorf("differs from %s, %v; -update rewrites it\n%s", path, err, l.Raw)
				}
				a, b := readGo(t, l.Raw), readPython(t, l.Raw)
				if a.Text != b.Text || a.HTML != b.HTML || !slices.Equal(a.Header["subject"], b.Header["subject"]) {
					t.Errorf("the two read different things:\n%q\n%q", a.Text, b.Text)
				}
				if a.Header["auto-submitted"][0] != "auto-generated" || a.Header["content-language"][0] != lang || len(a.Header["reply-to"]) != 1 {
					t.Errorf("header %q", a.Header)
				}
				checkLines(t, l.Raw)
				sameInHTML(t, a.Text, a.HTML)
				if strings.ContainsAny(a.Text, "{}") {
					t.Errorf("a blank was left:\n%s", a.Text)
				}
			})
		}
	}
}

// The action and the day stand first, by the customer's clock. 2 March 2026 was a Monday.
func TestLettersSayWhenFirst(t *testing.T) {
	all := letters()
	for name, want := range map[string][2]string{
		"visit_booked":    {"Visit booked for Wed 11 March 2026, 2:30 pm: Maple House, flat 1", "Visita acordada para el mié 11 de marzo de 2026, 2:30 p. m.: Maple House, flat 1"},
		"visit_moved":     {"Visit moved to Wed 11 March 2026, 2:30 pm: Maple House, flat 1", "La visita pasa al mié 11 de marzo de 2026, 2:30 p. m.: Maple House, flat 1"},
		"visit_cancelled": {"Visit of Wed 11 March 2026, 2:30 pm is cancelled: Maple House, flat 1", "Se cancela la visita del mié 11 de marzo de 2026, 2:30 p. m.: Maple House, flat 1"},
		"visit_soon":      {"Visit tomorrow, Tue 3 March 2026, 2:30 pm: Maple House, flat 1", "Visita mañana, mar 3 de marzo de 2026, 2:30 p. m.: Maple House, flat 1"},
		"record":          {"Cleaned from end to end, Mon 2 March 2026: Maple House, flat 1", "Limpiado de extremo a extremo, lun 2 de marzo de 2026: Maple House, flat 1"},
		"summary":         {"34 things need you, Mon 2 March 2026", "34 asuntos le esperan, lun 2 de marzo de 2026"},
	} {
		for i, lang := range []string{"en", "es"} {
			r := all[name]
			r.Person.Language = lang
			if got := readGo(t, composed(t, larkspur, r).Raw).Header["subject"][0]; got != want[i] {
				t.Errorf("%s: %q\nwant %q", name, got, want[i])
			}
		}
	}
	r := all["visit_booked"]
	r.Operator.Clock = vent.Clock24
	if got := readGo(t, composed(t, larkspur, r).Raw).Header["subject"][0]; !strings.Contains(got, "14:30") {
		t.Errorf("by a 24 h clock: %q", got)
	}
}

// The confirmation carries the visit for the reader's calendar, with the UID and SEQUENCE of the feed, but not to whom a
// calendar shows it already, nor to who lives there. A moved or called off one has a higher SEQUENCE (RFC 5546 section 2.1.4).
func TestVisitFile(t *testing.T) {
	for _, kind := range []vent.NoticeKind{vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled} {
		r := aReminder(aVisit(kind, 9))
		r.Message.Class = "visit"
		file := readGo(t, composed(t, larkspur, r).Raw).Calendar
		for _, want := range []string{"UID:0c2f-part\r\n", "SEQUENCE:3\r\n", "DTSTART;TZID=America/New_York:20260311T143000\r\n"} {
			if !strings.Contains(file, want) {
				t.Errorf("%s: %q is missing in\n%s", kind, want, file)
			}
		}
		if got := strings.Contains(file, "STATUS:CANCELLED"); got != (kind == vent.NoticeVisitCancelled) {
			t.Errorf("%s: cancelled %v", kind, got)
		}
		if problems := strict.Check([]byte(file)); len(problems) > 0 {
			t.Errorf("%s: %v", kind, problems)
		}
		r.Items[0].Visit.InCalendar = true
		if readGo(t, composed(t, larkspur, r).Raw).Calendar != "" {
			t.Errorf("%s: a file for whom a calendar shows it", kind)
		}
	}
	entry := aReminder(aVisit(vent.NoticeEntry, 9))
	if readGo(t, composed(t, larkspur, entry).Raw).Calendar != "" {
		t.Error("who lives there gets a file")
	}
}

// What somebody wrote can add neither a header nor markup, whatever it is and wherever it stands.
func FuzzLetters(f *testing.F) {
	for _, s := range []string{"Maple House", "a\r\nBcc: all@example.com\r\n\r\n", "<script>x</script>", "=?utf-8?q?=0D=0AX:_y?=", "{where}", "\u2028\x00\xff"} {
		f.Add(s)
	}
	names := []string{}
	for name := range letters() {
		names = append(names, name)
	}
	slices.Sort(names)
	plain := map[string]map[string][]string{}
	for name, r := range letters() {
		plain[name] = readGo(f, composed(f, larkspur, r).Raw).Header
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, name := range names {
			r := letters()[name]
			r.Person.Name, r.Operator.Name = s, s
			for i := range r.Items {
				it := &r.Items[i]
				it.Site.Name, it.Site.Address, it.Unit.Name = s, s, s
				if v := it.Visit; v != nil {
					v.Site, v.Unit, v.Customer.Name, v.Technician = it.Site, it.Unit, s, s
				}
				if x := it.Record; x != nil {
					x.Place = it.Place
				}
			}
			raw := composed(t, larkspur, r).Raw
			checkLines(t, raw)
			m := readGo(t, raw)
			for h, values := range m.Header {
				if _, known := plain[name][h]; !known || len(values) != 1 {
					t.Errorf("%s: header %s: %q", name, h, values)
				}
			}
			if got := strings.Count(strings.ToLower(m.HTML), "<script"); got != 0 {
				t.Errorf("%s: markup came in", name)
			}
		}
	})
}

// The button leads to where a day is chosen, to who can choose: not who lives there, not for what they do themselves.
func TestBookingButton(t *testing.T) {
	s := scene.Start(t, noon)
	links, err := s.Desk.BookingLinks(s.By())
	if err != nil {
		t.Fatal(err)
	}
	from := larkspur
	from.Bookings = links
	for name, want := range map[string]string{"run_due": "Choose a day", "fault": "Choose a day", "visit_booked": "Move it or call it off",
		"visit_cancelled": "Choose a day", "entry": "", "record": "", "stop": "", "summary": ""} {
		r := letters()[name]
		for i := range r.Items {
			r.Items[i].Customer.ID = vent.ID{9}
		}
		text := readGo(t, composed(t, from, r).Raw).Text
		if got := strings.Contains(text, "/v/"); got != (want != "") || !strings.Contains(text, want) {
			t.Errorf("%s: a link %v, want %q\n%s", name, got, want, text)
		}
	}
}

// A record's mail leads to the record of that visit: one by the button, several by a link each, other mails not at all.
func TestRecordButton(t *testing.T) {
	s := scene.Start(t, noon)
	links, err := s.Desk.RecordLinks(s.By())
	if err != nil {
		t.Fatal(err)
	}
	from := larkspur
	from.Records = links
	for name, r := range letters() {
		text := readGo(t, composed(t, from, r).Raw).Text
		if got := strings.Count(text, larkspur.Pages+desk.RecordPath); got != map[string]int{"record": 1}[name] {
			t.Errorf("%s: %d links\n%s", name, got, text)
		}
	}
	two := aReminder(aRecord(), aRecord())
	two.Message.Class = "record"
	if text := readGo(t, composed(t, from, two).Raw).Text; strings.Count(text, larkspur.Pages+desk.RecordPath) != 2 {
		t.Errorf("of two visits:\n%s", text)
	}
}
