package desk

import "testing"

func TestFit(t *testing.T) {
	for _, c := range []struct {
		typed string
		names []string
		want  fit
	}{
		{"9 Quince Row", []string{"9 Quince Row", "House"}, fitsName},
		{"9 quince row", []string{"9 Quince Row, Eldermoor", "House"}, fitsWords},
		{"9 quince row", []string{"19 Quince Row, Eldermoor", "House"}, fitsParts},
		{"maple 3b", []string{"Maple House", "3B"}, fitsWords},
		{"map 3", []string{"Maple House", "3B"}, fitsParts},
		{"oak", []string{"Maple House", "3B"}, fitsNot},
		{"Home 3", []string{"Home 13"}, fitsParts},
		{"ÖSTRA", []string{"Östra gränd 4"}, fitsWords},
	} {
		if got := fitOf(c.typed, c.names...); got != c.want {
			t.Errorf("%q in %q: %d, want %d", c.typed, c.names, got, c.want)
		}
	}
}
