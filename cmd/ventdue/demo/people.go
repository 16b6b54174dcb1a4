package demo

import (
	"fmt"
	"strings"
)

// Names were put together at random: nobody is meant.
var firstNames = []string{
	"Ada", "Amara", "Anton", "Beatriz", "Bruno", "Callum", "Carmen", "Cédric", "Dara", "Dmitri", "Edith", "Elio", "Esther", "Farid",
	"Fiona", "Gideon", "Greta", "Hana", "Hugo", "Imani", "Ivo", "Jolene", "Jonas", "Kavya", "Kofi", "Leila", "Linus", "Mabel", "Mateo",
	"Nadia", "Nils", "Odette", "Omar", "Petra", "Priya", "Quentin", "Rhea", "Rosalind", "Samir", "Selma", "Tadeo", "Tova", "Ulises",
	"Vera", "Wendell", "Yusuf", "Zoë",
}

var lastNames = []string{
	"Abernethy", "Adeyemi", "Almqvist", "Aranda", "Ashdown", "Bellweather", "Bergstrand", "Birdsong", "Brackett", "Calloway", "Castellan",
	"Corrigan", "Dahl", "Delacroix", "Dunmore", "Eastlake", "Ellery", "Fairweather", "Farrow", "Fonseca", "Gallo", "Garrick", "Greenhalgh",
	"Hallström", "Harrow", "Hathersage", "Ibarra", "Inglewood", "Jarvela", "Jessop", "Kaneshiro", "Kettering", "Kowalczyk", "Lachance",
	"Lindqvist", "Marchetti", "Merriweather", "Nakagawa", "Novak", "Oakhurst", "Okafor", "Olander",
	"Pemberton", "Penhallow", "Pryce", "Quillfeather", "Ramaswamy", "Redfern", "Rosenthal", "Saltmarsh", "Sandoval", "Sørensen",
	"Stannard", "Tamsworth", "Thackeray", "Treadwell", "Tsosie", "Underhill", "Vasquez", "Villeneuve", "Wainscott", "Whitcombe",
	"Winterbourne", "Wolfenden", "Yarrow", "Ybarra", "Zielinski", "Zimmer",
}

var streetNames = []string{
	"Anchor Row", "Bollard Street", "Capstan Court", "Cormorant Lane", "Driftwood Avenue", "Dune Path", "Eelgrass Road", "Gangway Street",
	"Halyard Lane", "Heron Lane", "Jetty Street", "Kelp Lane", "Lantern Street", "Mizzen Court", "Osprey Drive", "Pilot Hill",
	"Sandpiper Way", "Spinnaker Road", "Tern Street", "Windlass Place",
}

// town is where everybody lives; it lies in the open sea, some 60 km off the coast.
const (
	town    = "Ternhaven"
	townLat = 36.62
	townLon = -75.05
)

// person is somebody with a name, a mail address and a telephone.
type person struct{ name, email, phone string }

// cast gives out people, no name and no address twice.
type cast struct {
	first, last []int // shuffled
	people      int
	phones      int
}

func newCast(d dice) *cast {
	return &cast{first: d.rng.Perm(len(firstNames)), last: d.rng.Perm(len(lastNames)), phones: 100}
}

// next gives somebody new. The two lists have no common divisor, so that pairs repeat only after all of them.
func (c *cast) next() person {
	first, last := firstNames[c.first[c.people%len(c.first)]], lastNames[c.last[c.people%len(c.last)]]
	domain := []string{"example.com", "example.net", "example.org"}[c.people%3]
	c.people++
	local := plainLetters.Replace(strings.ToLower(first + "." + last))
	return person{name: first + " " + last, email: local + "@" + domain}
}

// withPhone gives a person a telephone; there are 99 for everybody, 555-0101 to 555-0199.
func (c *cast) withPhone(p person) person {
	if c.phones < 199 {
		c.phones++
		p.phone = fmt.Sprintf("555-%04d", c.phones)
	}
	return p
}

var plainLetters = strings.NewReplacer("é", "e", "ë", "e", "ö", "o", "ø", "o")

// technician works for the business.
type technician string

const (
	ines   technician = "Ines Tallow" // has the licence for gas
	marlon technician = "Marlon Fisk"
	dot    technician = "Dot Averill" // has the harness for roofs
)

// address gives a house of its own.
func (w *world) address() string {
	for {
		a := fmt.Sprintf("%d %s, %s", w.things.between(1, 98), pick(w.things, streetNames...), town)
		if !w.streets[a] {
			w.streets[a] = true
			return a
		}
	}
}
