package desk

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"ventdue/store"
	"ventdue/vent"
)

// Hit is something that a search found.
type Hit struct {
	Kind   vent.Kind // customer, site, run, or person
	ID     vent.ID
	Name   string
	Detail string // where it is, or whose
}

// Hits is one page of what a search found, the best first.
type Hits struct {
	List  []Hit
	Total int
}

// Search finds customers, sites, runs and people in whose names, own keys, addresses or telephone numbers every word
// occurs, also as a beginning or a part; a run is found by the words of its unit, site and customer too. Case and accents do
// not count. It looks into memory: what it keeps there is worked out anew when a name changed.
func (d *Desk) Search(words string, skip, max int) (h Hits, err error) {
	wanted := strings.Fields(foldText(words))
	if len(wanted) == 0 {
		return h, nil
	}
	all, err := d.finder.entries(d.store)
	if err != nil {
		return h, err
	}
	var hits []*entry
	scores := map[*entry]int{}
	for i := range all {
		e := &all[i]
		if score := e.fits(wanted); score > 0 {
			hits = append(hits, e)
			scores[e] = score
		}
	}
	slices.SortFunc(hits, func(a, b *entry) int {
		return cmp.Or(scores[b]-scores[a], kindRank[a.kind]-kindRank[b.kind], naturally(a.detail+" "+a.name, b.detail+" "+b.name), slices.Compare(a.id[:], b.id[:]))
	})
	h.Total = len(hits)
	for _, e := range hits[min(skip, len(hits)):min(skip+max, len(hits))] {
		h.List = append(h.List, Hit{Kind: e.kind, ID: e.id, Name: e.name, Detail: e.detail})
	}
	return h, nil
}

var kindRank = map[vent.Kind]int{vent.KindCustomer: 0, vent.KindSite: 1, vent.KindRun: 2, vent.KindPerson: 3}

// entry is one thing that can be found.
type entry struct {
	kind         vent.Kind
	id           vent.ID
	name, detail string
	own          string // folded, with a blank before each word
	around       string // of what it belongs to
}

// fits says how well the words fit: 0 not at all, more where they are the thing's own, whole words, or beginnings.
func (e *entry) fits(words []string) (score int) {
	for _, w := range words {
		at := strings.Index(e.own, w)
		switch {
		case at >= 0 && wholeWord(e.own, w):
			score += 8
		case at >= 0 && strings.Contains(e.own, " "+w):
			score += 5
		case at >= 0:
			score += 3
		case wholeWord(e.around, w):
			score += 2
		case strings.Contains(e.around, w):
			score++
		default:
			return 0
		}
	}
	return score
}

func wholeWord(text, w string) bool { return strings.Contains(text, " "+w+" ") }

// finder keeps what can be found.
type finder struct {
	mu    sync.Mutex
	as    uint64 // store.Renames when it was worked out, and one
	found []entry
}

func (f *finder) entries(s *store.Store) ([]entry, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	now := s.Renames() + 1
	if f.as == now {
		return f.found, nil
	}
	var all []entry
	err := s.View(func(tx *store.Tx) (err error) {
		all, err = allNames(tx)
		return err
	})
	if err != nil {
		return nil, err
	}
	f.as, f.found = now, all
	return all, nil
}

// allNames reads all names once.
func allNames(tx *store.Tx) (all []entry, err error) {
	texts := map[vent.ID]string{} // folded, of customers, sites and units
	names := map[vent.ID]string{}
	add := func(e entry, around string, parts ...string) {
		e.own, e.around = padded(parts...), around
		all = append(all, e)
		texts[e.id], names[e.id] = e.own+around, e.name
	}
	for c, err := range store.Customers.All(tx) {
		if err != nil {
			return nil, err
		}
		add(entry{kind: vent.KindCustomer, id: c.ID, name: c.Name}, "", c.Name, c.Ref)
	}
	for s, err := range store.Sites.All(tx) {
		if err != nil {
			return nil, err
		}
		detail := s.Address
		if detail == s.Name || detail == "" {
			detail = names[s.CustomerID]
		}
		add(entry{kind: vent.KindSite, id: s.ID, name: s.Name, detail: detail}, texts[s.CustomerID], s.Name, s.Address, s.Ref)
	}
	units := map[vent.ID]vent.Unit{}
	for u, err := range store.Units.All(tx) {
		if err != nil {
			return nil, err
		}
		units[u.ID] = vent.Unit{Name: u.Name, Ref: u.Ref}
	}
	dryers := map[vent.ID]string{}
	for a, err := range store.Appliances.All(tx) {
		if err != nil {
			return nil, err
		}
		if text := strings.TrimSpace(a.Ref + " " + a.Serial + " " + a.Maker + " " + a.Model); text != "" {
			dryers[a.ID] = text
		}
	}
	for r, err := range store.Runs.All(tx) {
		if err != nil {
			return nil, err
		}
		u := units[r.UnitID]
		place := Place{Run: r, Unit: u, Site: vent.Site{Name: names[r.SiteID]}}
		add(entry{kind: vent.KindRun, id: r.ID, name: place.Label()}, texts[r.SiteID], u.Name, u.Ref, r.Name, r.Ref, dryers[r.Current().DryerID])
	}
	for p, err := range store.Persons.All(tx) {
		if err != nil {
			return nil, err
		}
		add(entry{kind: vent.KindPerson, id: p.ID, name: p.Name, detail: p.Email}, "", p.Name, p.Email, p.Ref, p.Phone, figuresOf(p.Phone))
	}
	return all, nil
}

// padded folds texts and puts a blank around each word.
func padded(parts ...string) string {
	return " " + strings.Join(strings.Fields(foldText(strings.Join(parts, " "))), " ") + " "
}

// figuresOf gives a telephone number without what stands between its figures.
func figuresOf(phone string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, phone)
}

// foldText gives a text in lower case, without accents, with blanks for what stands between words.
func foldText(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range norm.NFKD.String(s) {
		if plain, ok := plainLetters[r]; ok {
			b.WriteString(plain)
			continue
		}
		switch {
		case unicode.Is(unicode.Mn, r): // an accent
		case unicode.IsLetter(r), unicode.IsDigit(r), unicode.IsSymbol(r), r == '@', r == '.', r == '-':
			b.WriteRune(unicode.ToLower(r))
		default:
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// plainLetters are letters that no decomposition takes apart, as people type them who do not have them.
var plainLetters = map[rune]string{'ß': "ss", 'ø': "o", 'Ø': "o", 'æ': "ae", 'Æ': "ae", 'œ': "oe", 'Œ': "oe", 'ł': "l", 'Ł': "l", 'đ': "d", 'Đ': "d", 'ð': "d", 'þ': "th", 'ı': "i", '\'': "", '’': ""}
