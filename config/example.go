package config

import (
	"bytes"
	_ "embed"
)

//go:embed config.example.yaml
var example []byte

// Example returns the commented example file: every setting with its default, each commented out.
func Example() []byte { return bytes.Clone(example) }
