package calendar

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// visit is an hour in a zone.
func visit(uid, day string, minute int, zone string) Event {
	return Event{UID: uid, Modified: utc("2026-01-01T00:00:00Z"), Summary: uid, Start: date(day), Minute: minute, Zone: zone, Duration: time.Hour}
}

// span returns the lines of an event that say when it is.
func span(t *testing.T, e Event) []string {
	t.Helper()
	body := string(mustRender(t, Calendar{Anchor: e.Start, Events: []Event{e}}))
	_, event, _ := strings.Cut(body, "BEGIN:VEVENT\r\n")
	var lines []string
	for line := range strings.Lines(event) {
		if strings.HasPrefix(line, "DT") && !strings.HasPrefix(line, "DTSTAMP") {
			lines = append(lines, strings.TrimSpace(line))
		}
	}
	return lines
}

// Expected: RFC 5545 section 3.3.5 (a skipped time is read with the offset
// before, a doubled one is the first), applied by hand to each zone's rule;
// doubled times are written in UTC, which leaves no doubt.
func TestLocalTimesAroundChanges(t *testing.T) {
	const ny, lh, cl, ap = "America/New_York", "Australia/Lord_Howe", "America/Santiago", "Pacific/Apia"
	at := func(name, zone, value string) string { return name + ";TZID=" + zone + ":" + value }
	for _, tc := range []struct {
		name       string
		event      Event
		start, end string
	}{
		{"skipped", visit("a", "2026-03-08", 2*60+30, ny), at("DTSTART", ny, "20260308T033000"), at("DTEND", ny, "20260308T043000")},
		{"into the gap", visit("a", "2026-03-08", 1*60+30, ny), at("DTSTART", ny, "20260308T013000"), at("DTEND", ny, "20260308T033000")},
		{"doubled, and ends in the second", visit("a", "2026-11-01", 1*60+30, ny), "DTSTART:20261101T053000Z", "DTEND:20261101T063000Z"},
		{"ends as the second begins", visit("a", "2026-11-01", 60, ny), "DTSTART:20261101T050000Z", "DTEND:20261101T060000Z"},
		{"ends as the second is over", func() Event { e := visit("a", "2026-11-01", 60, ny); e.Duration = 2 * time.Hour; return e }(),
			"DTSTART:20261101T050000Z", at("DTEND", ny, "20261101T020000")},
		{"ends as the first begins", visit("a", "2026-11-01", 0, ny), at("DTSTART", ny, "20261101T000000"), "DTEND:20261101T050000Z"},
		{"over before the first begins", visit("a", "2026-10-31", 23*60+59, ny), at("DTSTART", ny, "20261031T235900"), at("DTEND", ny, "20261101T005900")},
		{"skipped half hour", visit("a", "2026-10-04", 2*60+10, lh), at("DTSTART", lh, "20261004T024000"), at("DTEND", lh, "20261004T034000")},
		{"doubled half hour", visit("a", "2026-04-05", 60+45, lh), "DTSTART:20260404T144500Z", at("DTEND", lh, "20260405T021500")},
		{"skipped midnight", visit("a", "2026-09-06", 0, cl), at("DTSTART", cl, "20260906T010000"), at("DTEND", cl, "20260906T020000")},
		{"doubled hour before midnight", visit("a", "2026-04-04", 23*60+15, cl), "DTSTART:20260405T021500Z", "DTEND:20260405T031500Z"},
		{"skipped day", visit("a", "2011-12-30", 10*60, ap), at("DTSTART", ap, "20111231T100000"), at("DTEND", ap, "20111231T110000")},
		{"over the skipped day", visit("a", "2011-12-29", 23*60+30, ap), at("DTSTART", ap, "20111229T233000"), at("DTEND", ap, "20111231T003000")},
	} {
		t.Run(tc.name+" "+tc.event.Zone, func(t *testing.T) {
			if got, want := span(t, tc.event), []string{tc.start, tc.end}; !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

// changes returns a zone's onsets with their offsets and names, from a calendar
// whose events are at the given day.
func changes(t *testing.T, day, zone string) []string {
	t.Helper()
	body := string(mustRender(t, Calendar{Anchor: date(day), Events: []Event{visit("a", day, 720, zone)}}))
	_, body, _ = strings.Cut(body, "BEGIN:VTIMEZONE\r\n")
	body, _, _ = strings.Cut(body, "END:VTIMEZONE")
	var list []string
	for _, part := range strings.Split(body, "BEGIN:")[1:] {
		f := strings.Split(part, "\r\n")
		cut := func(s string) string { _, v, _ := strings.Cut(s, ":"); return v }
		list = append(list, strings.Join([]string{f[0], cut(f[1]), cut(f[2]), cut(f[3]), cut(f[4])}, " "))
	}
	return list
}

// Expected: the rules of each zone, dates worked out by hand. Chile: to winter
// time at the end of the first Saturday of April, to summer time at the end of
// the first Saturday of September (Decreto 224/2022). Samoa: 30 December 2011
// left out, with summer time in force (International Date Line Act 2011).
// Phoenix has had one time since 1968, Reykjavik since 1968.
func TestZoneChanges(t *testing.T) {
	for _, tc := range []struct {
		day, zone string
		want      []string
	}{
		{"2026-06-01", "America/Santiago", []string{
			"DAYLIGHT 20240908T000000 -0400 -0300 -03", // 2024: the 8th, after the first Saturday on the 7th
			"STANDARD 20250406T000000 -0300 -0400 -04",
			"DAYLIGHT 20250907T000000 -0400 -0300 -03",
			"STANDARD 20260405T000000 -0300 -0400 -04",
			"DAYLIGHT 20260906T000000 -0400 -0300 -03",
			"STANDARD 20270404T000000 -0300 -0400 -04",
			"DAYLIGHT 20270905T000000 -0400 -0300 -03",
		}},
		{"2011-12-29", "Pacific/Apia", []string{
			"STANDARD 19700101T000000 -1100 -1100 -11",
			"DAYLIGHT 20100926T000000 -1100 -1000 -10",
			"STANDARD 20110402T040000 -1000 -1100 -11",
			"DAYLIGHT 20110924T030000 -1100 -1000 -10",
			"DAYLIGHT 20111230T000000 -1000 +1400 +14",
			"STANDARD 20120401T040000 +1400 +1300 +13",
			"DAYLIGHT 20120930T030000 +1300 +1400 +14",
		}},
		{"2026-06-01", "America/Phoenix", []string{"STANDARD 19700101T000000 -0700 -0700 MST"}},
		{"2026-06-01", "Atlantic/Reykjavik", []string{"STANDARD 19700101T000000 +0000 +0000 GMT"}},
		{"2026-06-01", "Asia/Kathmandu", []string{"STANDARD 19860101T000000 +0530 +0545 +0545"}},
	} {
		if got := changes(t, tc.day, tc.zone); !slices.Equal(got, tc.want) {
			t.Errorf("%s around %s:\ngot  %q\nwant %q", tc.zone, tc.day, got, tc.want)
		}
	}
}

func TestOnlyUsedZonesAreDeclared(t *testing.T) {
	c := Calendar{Zone: "Europe/Lisbon", Anchor: date("2026-03-01"), Events: []Event{
		visit("a", "2026-03-09", 540, "America/New_York"), visit("b", "2026-03-10", 540, "America/New_York"),
		visit("c", "2026-03-10", 540, "America/Chicago"), allDay("d", "2026-03-11"),
	}}
	var got []string
	for line := range strings.Lines(string(mustRender(t, c))) {
		if id, ok := strings.CutPrefix(line, "TZID:"); ok {
			got = append(got, strings.TrimSpace(id))
		}
	}
	if want := []string{"America/Chicago", "America/New_York"}; !slices.Equal(got, want) {
		t.Errorf("declared %v, want %v", got, want)
	}
}

// Zones with unusual rules: the strict checker works each moment out from the
// VTIMEZONE, and complains of a time that it skips or does not explain.
func TestUnusualZonesExplainTheirTimes(t *testing.T) {
	for _, zone := range []string{
		"UTC", "Etc/GMT+12", "Europe/Dublin", "Africa/Casablanca", "Asia/Tehran", "Asia/Gaza", "Africa/Cairo",
		"America/St_Johns", "Pacific/Chatham", "Antarctica/Troll", "America/Nuuk", "Asia/Kolkata", "Pacific/Kiritimati",
		"Europe/London", "America/Sao_Paulo", "Australia/Sydney", "Asia/Amman", "America/Havana",
	} {
		var events []Event
		for d := date("2026-01-01"); d < date("2027-01-01"); d = d.AddDays(1) {
			events = append(events, visit(zone+d.String(), d.String(), 30, zone), visit(zone+d.String()+"b", d.String(), 150, zone))
		}
		mustRender(t, Calendar{Anchor: date("2026-06-01"), Events: events})
	}
}
