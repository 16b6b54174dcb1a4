package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/fxamacker/cbor/v2"
)

// recordVersion is the first byte of every record. A table that changes the meaning of a number raises it and
// keeps reading the older one.
const recordVersion = 1

// maxRecord is the largest record that is written, in bytes. It keeps one hostile field from growing the file.
const maxRecord = 4 << 20

type codec struct {
	enc cbor.UserBufferEncMode
	dec cbor.DecMode
}

func newCodec() (codec, error) {
	// Figures that JSON cannot say could be stored, but neither dumped nor kept in the trail.
	enc, err := cbor.EncOptions{Sort: cbor.SortNone, NaNConvert: cbor.NaNConvertReject, InfConvert: cbor.InfConvertReject}.UserBufferEncMode()
	if err != nil {
		return codec{}, err
	}
	dec, err := cbor.DecOptions{
		DupMapKey: cbor.DupMapKeyEnforcedAPF, MaxNestedLevels: 16,
		// A field that this program does not know would be lost when it writes the record again.
		ExtraReturnErrors: cbor.ExtraDecErrorUnknownField,
	}.DecMode()
	return codec{enc, dec}, err
}

// usualRecord is a size, in bytes, that most records stay under: one piece of memory is enough for them.
const usualRecord = 256

func (c codec) marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	b.Grow(usualRecord)
	if err := c.marshalTo(&b, v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// marshalTo is marshal into memory that is used again: what b held is gone.
func (c codec) marshalTo(b *bytes.Buffer, v any) error {
	b.Reset()
	b.WriteByte(recordVersion)
	if err := c.enc.MarshalToBuffer(v, b); err != nil {
		return fmt.Errorf("encode record: %w", err)
	}
	if b.Len() > maxRecord {
		return fmt.Errorf("encode record: %d bytes, at most %d are kept", b.Len(), maxRecord)
	}
	return nil
}

// The major types of CBOR (RFC 8949, section 3.1) that an audit line needs.
const (
	cborPositive = 0 << 5
	cborNegative = 1 << 5
	cborByteText = 2 << 5
	cborUTF8Text = 3 << 5
	cborMap      = 5 << 5
)

// cborHead adds the head of an item: its major type with an argument, as short as it can be.
func cborHead(b []byte, major byte, n uint64) []byte {
	switch {
	case n < 24:
		return append(b, major|byte(n))
	case n <= math.MaxUint8:
		return append(b, major|24, byte(n))
	case n <= math.MaxUint16:
		return binary.BigEndian.AppendUint16(append(b, major|25), uint16(n))
	case n <= math.MaxUint32:
		return binary.BigEndian.AppendUint32(append(b, major|26), uint32(n))
	}
	return binary.BigEndian.AppendUint64(append(b, major|27), n)
}

func cborBytes(b, v []byte) []byte { return append(cborHead(b, cborByteText, uint64(len(v))), v...) }

func cborText(b []byte, s string) []byte {
	return append(cborHead(b, cborUTF8Text, uint64(len(s))), s...)
}

func cborInt(b []byte, n int64) []byte {
	if n < 0 {
		return cborHead(b, cborNegative, uint64(-(n + 1)))
	}
	return cborHead(b, cborPositive, uint64(n))
}

func (c codec) unmarshal(b []byte, v any) error {
	if len(b) == 0 {
		return fmt.Errorf("decode record: it is empty")
	}
	if b[0] != recordVersion {
		return fmt.Errorf("decode record: its version %d is not known: a newer program wrote it, run that one", b[0])
	}
	err := c.dec.Unmarshal(b[1:], v)
	if unknown := (*cbor.UnknownFieldError)(nil); errors.As(err, &unknown) {
		return fmt.Errorf("decode record: a newer program wrote it (%w): run that one", err)
	}
	if err != nil {
		return fmt.Errorf("decode record: %w", err)
	}
	return nil
}
