package wording

import (
	"regexp"
	"slices"
	"testing"
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

func blanks(text string) []string {
	found := blank.FindAllString(text, -1)
	slices.Sort(found)
	return slices.Compact(found)
}
