package store

import (
	"bytes"
	"slices"
)

// pending holds a bucket's writes on their way to bbolt, so that a transaction that writes much does so in key
// order. New IDs rise, so most keys arrive in order: these lie in a list, and only the others in a map.
//
// Invariant: the keys of rising rise, and every key of rest is less than the last of them.
type pending struct {
	rising []entry
	rest   map[string][]byte
}

// entry is one write; a nil v deletes.
type entry struct{ k, v []byte }

func (p *pending) len() int { return len(p.rising) + len(p.rest) }

// get gives what is to be written under k.
func (p *pending) get(k []byte) (v []byte, ok bool) {
	i, ok := p.find(k)
	if ok {
		return p.rising[i].v, true
	}
	if i == len(p.rising) {
		return nil, false
	}
	v, ok = p.rest[string(k)]
	return v, ok
}

// set takes k and v over: the caller must not change them.
func (p *pending) set(k, v []byte) {
	i, ok := p.find(k)
	switch {
	case ok:
		p.rising[i].v = v
	case i == len(p.rising):
		p.rising = append(p.rising, entry{k, v})
	default:
		if p.rest == nil {
			p.rest = make(map[string][]byte)
		}
		p.rest[string(k)] = v
	}
}

// find gives k's place among the rising keys.
func (p *pending) find(k []byte) (int, bool) {
	if n := len(p.rising); n == 0 || bytes.Compare(p.rising[n-1].k, k) < 0 {
		return n, false
	}
	return slices.BinarySearchFunc(p.rising, k, func(x entry, k []byte) int { return bytes.Compare(x.k, k) })
}

// each calls f for every write in the order of the keys.
func (p *pending) each(f func(entry) error) error {
	rest := make([]entry, 0, len(p.rest))
	for k, v := range p.rest {
		rest = append(rest, entry{[]byte(k), v})
	}
	slices.SortFunc(rest, func(a, b entry) int { return bytes.Compare(a.k, b.k) })
	for _, x := range p.rising {
		for len(rest) > 0 && bytes.Compare(rest[0].k, x.k) < 0 {
			if err := f(rest[0]); err != nil {
				return err
			}
			rest = rest[1:]
		}
		if err := f(x); err != nil {
			return err
		}
	}
	return nil
}

// clear forgets all writes.
func (p *pending) clear() {
	clear(p.rising)
	p.rising = p.rising[:0]
	clear(p.rest)
}
