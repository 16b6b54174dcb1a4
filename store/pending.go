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
	bytes  *arena
	rising []slot
	rest   map[string]slot
}

func (p *pending) len() int { return len(p.rising) + len(p.rest) }

// get gives what is to be written under k; nil where k is to be deleted.
func (p *pending) get(k []byte) (v []byte, ok bool) {
	i, ok := p.find(k)
	if ok {
		return p.bytes.value(p.rising[i]), true
	}
	if i == len(p.rising) {
		return nil, false
	}
	s, ok := p.rest[string(k)]
	return p.bytes.value(s), ok
}

// set notes a write; a nil v deletes. Both are copied.
func (p *pending) set(k, v []byte) {
	i, ok := p.find(k)
	s := p.bytes.keep(k, v)
	switch {
	case ok:
		p.rising[i] = s
	case i == len(p.rising):
		p.rising = append(p.rising, s)
	default:
		if p.rest == nil {
			p.rest = make(map[string]slot)
		}
		p.rest[string(k)] = s
	}
}

// find gives k's place among the rising keys.
func (p *pending) find(k []byte) (int, bool) {
	if n := len(p.rising); n == 0 || bytes.Compare(p.bytes.key(p.rising[n-1]), k) < 0 {
		return n, false
	}
	return slices.BinarySearchFunc(p.rising, k, func(s slot, k []byte) int { return bytes.Compare(p.bytes.key(s), k) })
}

// each calls f for every write in the order of the keys.
func (p *pending) each(f func(k, v []byte) error) error {
	rest := make([]slot, 0, len(p.rest))
	for _, s := range p.rest {
		rest = append(rest, s)
	}
	slices.SortFunc(rest, func(a, b slot) int { return bytes.Compare(p.bytes.key(a), p.bytes.key(b)) })
	for _, s := range p.rising {
		k := p.bytes.key(s)
		for ; len(rest) > 0 && bytes.Compare(p.bytes.key(rest[0]), k) < 0; rest = rest[1:] {
			if err := f(p.bytes.key(rest[0]), p.bytes.value(rest[0])); err != nil {
				return err
			}
		}
		if err := f(k, p.bytes.value(s)); err != nil {
			return err
		}
	}
	return nil
}

// clear forgets all writes. Their bytes stay: bbolt refers to values until the commit.
func (p *pending) clear() {
	p.rising = p.rising[:0]
	clear(p.rest)
}

// arena keeps the bytes of a transaction's writes in few large pieces: a million small ones would cost the garbage
// collector more than all else that a bulk transaction does.
type arena struct{ chunks [][]byte }

const (
	firstChunk = 2 << 10
	lastChunk  = 1 << 20
)

// slot says where a key and its value lie. It holds no pointer.
type slot struct {
	chunk, at uint32
	k         uint32
	v         int32 // -1: delete
}

func (a *arena) keep(k, v []byte) slot {
	n := len(a.chunks)
	if n == 0 || cap(a.chunks[n-1])-len(a.chunks[n-1]) < len(k)+len(v) {
		size := firstChunk
		if n > 0 {
			size = min(2*cap(a.chunks[n-1]), lastChunk)
		}
		a.chunks = append(a.chunks, make([]byte, 0, max(size, len(k)+len(v))))
		n++
	}
	c := &a.chunks[n-1]
	s := slot{uint32(n - 1), uint32(len(*c)), uint32(len(k)), int32(len(v))}
	if v == nil {
		s.v = -1
	}
	*c = append(append(*c, k...), v...)
	return s
}

func (a *arena) key(s slot) []byte {
	end := s.at + s.k
	return a.chunks[s.chunk][s.at:end:end]
}

func (a *arena) value(s slot) []byte {
	if s.v < 0 || s.chunk >= uint32(len(a.chunks)) {
		return nil
	}
	from := s.at + s.k
	end := from + uint32(s.v)
	return a.chunks[s.chunk][from:end:end]
}
