package store

import (
	"bytes"
	"errors"
	"fmt"

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
	b.WriteByte(recordVersion)
	if err := c.enc.MarshalToBuffer(v, &b); err != nil {
		return nil, fmt.Errorf("encode record: %w", err)
	}
	if b.Len() > maxRecord {
		return nil, fmt.Errorf("encode record: %d bytes, at most %d are kept", b.Len(), maxRecord)
	}
	return b.Bytes(), nil
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
