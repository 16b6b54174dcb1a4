package calendar

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/emersion/go-ical"
	"pgregory.net/rapid"

	"ventdue/notify/calendar/strict"
)

// hostile puts a text into every field that takes one.
func hostile(text string) Calendar {
	e := allDay("a", "2026-03-02")
	e.Summary, e.Description, e.Location = text, text, text
	e.Categories = []string{text, "due"}
	e.Alarms = []Alarm{{Text: text}}
	return Calendar{Name: text, Description: text, Anchor: date("2026-03-01"), Events: []Event{e}}
}

// survives says what must be left of a text, in other words than the writer's:
// line breaks of every kind are one line feed, a tab is a space, other controls
// and octets that are not UTF-8 are gone.
func survives(text string) string {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n", "\t", " ").Replace(text)
	text = strings.ToValidUTF8(text, "")
	return strings.Map(func(r rune) rune {
		if r != '\n' && (r < 0x20 || r >= 0x7f && r <= 0x9f) {
			return -1
		}
		return r
	}, text)
}

// propertyNames returns which properties and components a calendar has.
func propertyNames(body []byte) string {
	var names []string
	for line := range strings.Lines(string(body)) {
		if !strings.HasPrefix(line, " ") {
			end := strings.IndexAny(line, ";:")
			name := line[:max(end, 0)]
			if name == "BEGIN" || name == "END" {
				name = strings.TrimSpace(line)
			}
			names = append(names, name)
		}
	}
	return strings.Join(names, " ")
}

// checkHostile renders a text and reads it back with go-ical.
func checkHostile(t interface {
	Fatalf(string, ...any)
	Errorf(string, ...any)
}, text string) {
	r, err := Render(hostile(text))
	if err != nil {
		if len(text) > 100_000 { // six copies of it do not fit
			return
		}
		t.Fatalf("text %q: %v", text, err)
	}
	for _, p := range strict.Check(r.Body) {
		t.Errorf("text %q: %v", text, p)
	}
	harmless := "text"
	if text == "" {
		harmless = "" // properties without a value are left out
	}
	plain, err := Render(hostile(harmless))
	if err != nil {
		t.Fatalf("%v", err)
	}
	if got, want := propertyNames(r.Body), propertyNames(plain.Body); got != want {
		t.Errorf("text %q injected properties: %s\nwant %s", text, got, want)
	}
	cal, err := Decode(strings.NewReader(string(r.Body)), Limits{Line: MaxBytes})
	if err != nil {
		t.Fatalf("text %q: %v", text, err)
	}
	event := cal.Events()[0]
	alarm := event.Children[0]
	for name, props := range map[string]ical.Props{"SUMMARY": event.Props, "DESCRIPTION": event.Props, "LOCATION": event.Props, "NAME": cal.Props, "X-WR-CALNAME": cal.Props} {
		if got, err := props.Text(name); err != nil || got != survives(text) {
			t.Errorf("%s: wrote %q, read %q, want %q (%v)", name, text, got, survives(text), err)
		}
	}
	if got, err := alarm.Props.Text("DESCRIPTION"); err != nil || got != survives(text) {
		t.Errorf("alarm: wrote %q, read %q (%v)", text, got, err)
	}
}

var hostileTexts = []string{
	"", " ", "\n", "\r\nBEGIN:VEVENT\r\nUID:x\r\nEND:VEVENT\r\n", "a\u2028ATTENDEE:mailto:x@example.com", "a\u0085b", "\x00\x01\x1f\x7f\u009f",
	"\\n\\,\\;", "a\\", ";,:\"^'", "\xff\xfe\xc3", "\xed\xa0\x80", strings.Repeat("é", 200), strings.Repeat("😀", 100),
	strings.Repeat("\n", 100), strings.Repeat("x", 75), strings.Repeat("x", 67), strings.Repeat("x", 66) + "é", "\ufeff", "\ufffd", "e" + strings.Repeat("\u0301", 200),
	strings.Repeat(" ", 200), "\u202e\u200f", "\tx", "\r\xa1\n",
}

func TestHostileTexts(t *testing.T) {
	for _, text := range hostileTexts {
		checkHostile(t, text)
	}
}

func TestHostileProperty(t *testing.T) {
	pieces := rapid.SampledFrom(append([]string{"x", "ü", "漢", "😀", "\r", "\n", "\t", "\\", "\xf0\x9f"}, hostileTexts...))
	rapid.Check(t, func(t *rapid.T) {
		checkHostile(t, strings.Join(rapid.SliceOf(pieces).Draw(t, "pieces"), ""))
	})
}

func FuzzRender(f *testing.F) {
	for _, text := range hostileTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { checkHostile(t, text) })
}

// FuzzRenderFields puts hostile text where Render is free to refuse it: what it
// accepts must still be sound.
func FuzzRenderFields(f *testing.F) {
	f.Add("a", "https://example.com/", "teal", "America/New_York", 60, 30)
	f.Add("a\r\nb", "mailto:x\n", "teal\n", "../x", -1, 1<<40)
	f.Fuzz(func(t *testing.T, uid, url, color, zone string, minute, days int) {
		e := visit("a", "2026-03-08", minute, zone)
		e.URL, e.Related = url, []string{uid}
		g := allDay(uid, "2026-03-08")
		g.Days = days
		r, err := Render(Calendar{Color: color, Source: url, Anchor: date("2026-03-01"), Events: []Event{e, g}})
		if err != nil {
			if !utf8.ValidString(err.Error()) {
				t.Errorf("the error is not UTF-8: %q", err)
			}
			return
		}
		for _, p := range strict.Check(r.Body) {
			t.Errorf("%v\n%s", p, r.Body)
		}
	})
}

// RFC 6868 section 3.1 gives the encoding of parameter values, with this example.
func TestParameterValues(t *testing.T) {
	for value, want := range map[string]string{
		`George Herman "Babe" Ruth`: `X;P=George Herman ^'Babe^' Ruth`,
		"geo:40.446816,-80.00566":   `X;P="geo:40.446816,-80.00566"`,
		"a^b\nc":                    `X;P=a^^b^nc`,
		"a;b\x00\u2028":             `X;P="a;b^n"`,
	} {
		w := &writer{}
		w.begin("X")
		w.param("P", value)
		if got := string(w.buf); got != want {
			t.Errorf("%q: got %s, want %s", value, got, want)
		}
	}
}

// RFC 5545 section 3.3.6 gives the grammar; its section 3.3.14 that of offsets.
func TestDurationsAndOffsets(t *testing.T) {
	for seconds, want := range map[int64]string{
		0: "PT0S", 1: "PT1S", 60: "PT1M", 90: "PT1M30S", 3600: "PT1H", 3605: "PT1H0M5S", 5400: "PT1H30M",
		86400: "P1D", 90000: "P1DT1H", 86405: "P1DT5S", -3600: "-PT1H", -604800: "-P7D",
	} {
		if got := duration(secondsOf(seconds)); got != want {
			t.Errorf("%d s: got %s, want %s", seconds, got, want)
		}
	}
	for seconds, want := range map[int]string{0: "+0000", 20700: "+0545", -34200: "-0930", 50400: "+1400", -1172: "-001932"} {
		if got := offset(seconds); got != want {
			t.Errorf("%d s: got %s, want %s", seconds, got, want)
		}
	}
}
