package config

import (
	"fmt"
	"io"
	"log/slog"
)

// Secret is a text that must not be seen: however it is printed, logged or encoded, only [set] or [not set] comes out.
// The zero Secret is not set.
type Secret struct {
	// A pointer, because fmt prints the fields of unexported struct members without asking their methods.
	text *string
}

// NewSecret keeps text; "" gives a Secret that is not set.
func NewSecret(text string) Secret {
	if text == "" {
		return Secret{}
	}
	return Secret{&text}
}

// IsSet reports whether there is a secret.
func (s Secret) IsSet() bool { return s.text != nil }

// Reveal returns the text itself, "" if it is not set. Do not print it.
func (s Secret) Reveal() string {
	if s.text == nil {
		return ""
	}
	return *s.text
}

func (s Secret) String() string {
	if s.IsSet() {
		return "[set]"
	}
	return "[not set]"
}

// Format serves every verb of fmt, %#v and %x among them.
func (s Secret) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, s.String()) }

// MarshalText serves JSON and other encoders.
func (s Secret) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// LogValue serves slog.
func (s Secret) LogValue() slog.Value { return slog.StringValue(s.String()) }
