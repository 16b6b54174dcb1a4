package wording

import (
	"regexp"
	"slices"
	"testing"

	"ventdue/vent"
)

var blank = regexp.MustCompile(`\{[a-z_]+\}`)

// A text in another language says what the English one says: under a key that exists, with the same blanks to fill.
func TestSpanishFollowsEnglish(t *testing.T) {
	for key, text := range spanish {
		want, ok := english[key]
		if !ok {
			t.Errorf("%s: there is no English text of this key", key)
			continue
		}
		if a, b := blanks(want), blanks(text); !slices.Equal(a, b) {
			t.Errorf("%s: blanks %v in English, %v in Spanish", key, a, b)
		}
	}
}

// Every text has its Spanish one, without exception.
func TestSpanishIsWhole(t *testing.T) {
	for key := range english {
		if spanish[key] == "" {
			t.Errorf("%s has no Spanish text", key)
		}
	}
}

// Times of day by both clocks, noon and midnight being where they go wrong (noon is 12 pm, midnight 12 am: NIST's times of day).
func TestTimeOfDay(t *testing.T) {
	for minutes, want := range map[int][4]string{
		0: {"12:00 am", "00:00", "12:00 a. m.", "00:00"}, 12*60 + 5: {"12:05 pm", "12:05", "12:05 p. m.", "12:05"},
		9*60 + 30: {"9:30 am", "09:30", "9:30 a. m.", "09:30"}, 23*60 + 59: {"11:59 pm", "23:59", "11:59 p. m.", "23:59"},
	} {
		for i, w := range []Words{For("en", vent.US), For("en", vent.SI), For("es-MX", vent.US), For("es", vent.SI)} {
			if got := w.Clock(minutes); got != want[i] {
				t.Errorf("minute %d in %s, %s: %q, want %q", minutes, w.Lang, w.Units, got, want[i])
			}
		}
	}
	w := For("en", vent.US)
	w.Hours = vent.Clock24
	if got := w.Clock(14*60 + 30); got != "14:30" {
		t.Errorf("US units with a 24 h clock: %q", got)
	}
}

func blanks(text string) []string {
	found := blank.FindAllString(text, -1)
	slices.Sort(found)
	return slices.Compact(found)
}
