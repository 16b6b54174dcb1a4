package store

import (
	"encoding/binary"

	"ventdue/vent"
)

// key builds an ordered key: parts compare in the order in which they were added.
type key []byte

// keyRoom is what most keys need after their first part, in bytes: an ID, a moment, the ID of a row.
const keyRoom = 40

func (k key) id(id vent.ID) key {
	if k == nil {
		k = make(key, 0, keyRoom)
	}
	return append(k, id[:]...)
}

func (k key) date(d vent.Date) key { return binary.BigEndian.AppendUint32(k, uint32(d)) }

// instant flips the sign bit, so that moments before 1970 come before those after it.
func (k key) instant(t vent.Instant) key { return binary.BigEndian.AppendUint64(k, uint64(t)^1<<63) }

// instantOf reads what instant wrote at the start of b.
func instantOf(b []byte) vent.Instant { return vent.Instant(binary.BigEndian.Uint64(b) ^ 1<<63) }

func (k key) int(n int) key { return binary.BigEndian.AppendUint32(k, uint32(n)) }

func (k key) subject(s vent.Subject) key { return k.text(string(s.Kind)).id(s.ID) }

func (k key) scope(s vent.Scope) key { return k.text(string(s.Kind)).id(s.ID) }

// text adds s and a zero byte, so that a shorter text comes before a longer one and prefixes do not
// run together. A zero byte inside s is written as a space: keys need no way back.
func (k key) text(s string) key {
	if k == nil {
		k = make(key, 0, len(s)+1+keyRoom)
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c == 0 {
			c = ' '
		}
		k = append(k, c)
	}
	return append(k, 0)
}

// end gives the first key after all keys that start with prefix; nil when there is none.
func end(prefix []byte) []byte {
	e := append([]byte(nil), prefix...)
	for i := len(e) - 1; i >= 0; i-- {
		if e[i] < 0xff {
			e[i]++
			return e[:i+1]
		}
	}
	return nil
}
