package clockwork

import (
	"strings"
	"testing"
	"time"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func instant(t testing.TB, s string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestCheckSpecRefuses(t *testing.T) {
	now := instant(t, "2026-05-01T00:00:00Z")
	for spec, says := range map[string]string{
		"":                               "empty",
		"   ":                            "empty",
		"TZ=America/New_York":            "names a zone but no time", // the library panics here
		"CRON_TZ=UTC":                    "names a zone but no time",
		"TZ= 0 3 * * *":                  "unknown time zone",
		"TZ=Local 0 3 * * *":             "unknown time zone",
		"TZ=Mars/Olympus 0 3 * * *":      "unknown time zone",
		"TZ=../../etc/passwd 0 3 * * *":  "unknown time zone",
		"@every -5s":                     "more often", // the library makes one second of it
		"@every 0s":                      "more often",
		"@every 59s":                     "more often",
		"@every 1ms":                     "more often",
		"@every 100000h":                 "less often",
		"@every 9999999999999h":          "not a duration",
		"@every 5":                       "not a duration",
		"@every":                         "one duration",
		"@every 1h 2h":                   "one duration",
		"@reboot":                        "day of month",
		"0 0 31 2 *":                     "never fires",
		"0 0 31 4,6,9,11 *":              "never fires",
		"* * * * * *":                    "day of month", // six fields: would fire each second
		"0 3 * *":                        "day of month",
		"60 * * * *":                     "day of month",
		"*/0 * * * *":                    "day of month",
		"5-1 * * * *":                    "day of month",
		"1-99999999999999999999 * * * *": "day of month",
		"\x00 * * * *":                   "day of month",
	} {
		_, err := CheckSpec(spec, time.UTC, now)
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("CheckSpec(%q) = %v, want an error that says %q", spec, err, says)
		}
	}
}

// Expected instants: hand arithmetic on the rules of the tz database (offsets beside each case), and the reading of
// times in gaps and overlaps by RFC 5545 3.3.5.
func TestCheckSpecNext(t *testing.T) {
	for _, c := range []struct{ what, spec, zone, now, want string }{
		{"plain", "30 3 * * *", "UTC", "2026-05-01T03:30:00Z", "2026-05-02T03:30:00Z"},
		{"strictly after", "30 3 * * *", "UTC", "2026-05-01T03:29:59.999Z", "2026-05-01T03:30:00Z"},
		{"leap day", "0 0 29 2 *", "UTC", "2026-05-01T00:00:00Z", "2028-02-29T00:00:00Z"},
		{"zone in the spec", "TZ=Asia/Kolkata 0 6 * * *", "UTC", "2026-05-01T00:00:00Z", "2026-05-01T00:30:00Z"}, // +5:30
		{"every", "@every 90m", "UTC", "2026-05-01T00:00:00Z", "2026-05-01T01:30:00Z"},
		{"hourly", "@hourly", "Asia/Kolkata", "2026-05-01T00:00:00Z", "2026-05-01T00:30:00Z"},

		// New York goes from -5 to -4 at 02:00 on 8 March 2026 and back at 02:00 on 1 November.
		{"in the gap", "30 2 * * *", "America/New_York", "2026-03-08T00:00:00Z", "2026-03-08T07:30:00Z"},
		{"day after the gap", "30 2 * * *", "America/New_York", "2026-03-08T07:30:00Z", "2026-03-09T06:30:00Z"},
		{"start of the gap", "0 2 * * *", "America/New_York", "2026-03-08T00:00:00Z", "2026-03-08T07:00:00Z"},
		{"end of the gap", "0 3 * * *", "America/New_York", "2026-03-08T00:00:00Z", "2026-03-08T07:00:00Z"},
		{"every hour over the gap", "0 * * * *", "America/New_York", "2026-03-08T06:00:00Z", "2026-03-08T07:00:00Z"},
		{"quarters over the gap", "*/15 * * * *", "America/New_York", "2026-03-08T07:00:00Z", "2026-03-08T07:15:00Z"},
		{"overlap, first reading", "30 1 * * *", "America/New_York", "2026-11-01T00:00:00Z", "2026-11-01T05:30:00Z"},
		{"overlap, no second reading", "30 1 * * *", "America/New_York", "2026-11-01T05:30:00Z", "2026-11-02T06:30:00Z"},
		{"overlap, asked inside it", "30 1 * * *", "America/New_York", "2026-11-01T06:10:00Z", "2026-11-02T06:30:00Z"},
		{"every hour over the overlap", "30 * * * *", "America/New_York", "2026-11-01T05:30:00Z", "2026-11-01T06:30:00Z"},

		// Lord Howe goes from +10:30 to +11 at 02:00 on 4 October 2026 and back to 01:30 at 02:00 on 5 April.
		{"half-hour gap", "15 2 * * *", "Australia/Lord_Howe", "2026-10-03T00:00:00Z", "2026-10-03T15:45:00Z"},
		{"half-hour overlap", "45 1 * * *", "Australia/Lord_Howe", "2026-04-04T00:00:00Z", "2026-04-04T14:45:00Z"},
		{"half-hour overlap, once", "45 1 * * *", "Australia/Lord_Howe", "2026-04-04T14:45:00Z", "2026-04-05T15:15:00Z"},

		// Santiago goes from -4 to -3 at midnight before 6 September 2026, and back at midnight after 4 April.
		{"no midnight", "0 0 * * *", "America/Santiago", "2026-09-06T00:00:00Z", "2026-09-06T04:00:00Z"},
		{"no midnight, half past", "30 0 * * *", "America/Santiago", "2026-09-06T00:00:00Z", "2026-09-06T04:30:00Z"},
		{"evening twice", "30 23 * * *", "America/Santiago", "2026-04-05T00:00:00Z", "2026-04-05T02:30:00Z"},
		{"evening once", "30 23 * * *", "America/Santiago", "2026-04-05T02:30:00Z", "2026-04-06T03:30:00Z"},

		// Apia had no 30 December 2011: from -10 to +14.
		{"day before the lost day", "0 8 * * *", "Pacific/Apia", "2011-12-29T00:00:00Z", "2011-12-29T18:00:00Z"},
		{"day after the lost day", "0 8 * * *", "Pacific/Apia", "2011-12-29T18:00:00Z", "2011-12-30T18:00:00Z"},
		{"only on the lost day", "0 8 30 12 *", "Pacific/Apia", "2011-12-01T00:00:00Z", "2011-12-30T18:00:00Z"},
	} {
		got, err := CheckSpec(c.spec, zone(t, c.zone), instant(t, c.now))
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
		} else if want := instant(t, c.want); !got.Equal(want) {
			t.Errorf("%s: %q in %s after %s = %s, want %s", c.what, c.spec, c.zone, c.now, got.Format(time.RFC3339), c.want)
		}
	}
}

// TestEveryDayHasItsFiring walks through years of transitions: whatever the clocks do, a daily spec fires once for each
// day of the calendar, at its reading of the wall clock where there is one.
func TestEveryDayHasItsFiring(t *testing.T) {
	for _, name := range []string{
		"America/New_York", "Australia/Lord_Howe", "America/Santiago", "Pacific/Apia", "Africa/Casablanca", "Europe/Dublin", "Antarctica/Troll",
	} {
		loc := zone(t, name)
		for _, spec := range []string{"0 0 * * *", "15 2 * * *", "30 1 * * *", "30 23 * * *"} {
			s, err := parse(spec, loc)
			if err != nil {
				t.Fatal(err)
			}
			from, to := time.Date(2009, 6, 15, 12, 0, 0, 0, loc), time.Date(2014, 6, 15, 12, 0, 0, 0, loc)
			days := int(time.Date(2014, 6, 15, 0, 0, 0, 0, time.UTC).Sub(time.Date(2009, 6, 15, 0, 0, 0, 0, time.UTC)) / (24 * time.Hour))
			fired := 0
			for at := s.next(from); !at.After(to); at = s.next(at) {
				fired++
			}
			if fired != days && !(name == "Pacific/Apia" && fired >= days-1) {
				t.Errorf("%s, %q: fired %d times in %d days", name, spec, fired, days)
			}
		}
	}
}

func FuzzCheckSpec(f *testing.F) {
	for _, s := range []string{"30 3 * * *", "TZ=X", "CRON_TZ=UTC 1 1 1 1 1", "@every 1h", "@daily", "*/7 1-5 * feb mon", "TZ=Australia/Lord_Howe */13 2 * * *"} {
		f.Add(s, int64(1_700_000_000))
	}
	lordHowe := zone(f, "Australia/Lord_Howe")
	f.Fuzz(func(t *testing.T, spec string, unix int64) {
		now := time.Unix(unix%4_000_000_000, 0)
		next, err := CheckSpec(spec, lordHowe, now)
		if err != nil {
			return
		}
		if !next.After(now) {
			t.Errorf("%q after %v fires at %v", spec, now, next)
		}
	})
}
