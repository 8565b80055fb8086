// Package datafile reads the TOML files that are part of the program: what it says to
// people, and what stands beside that.
//
// Start with [Read].
package datafile

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/pelletier/go-toml/v2"
)

// Read is what the texts of a file, or of several that are one, hold. A mistake in one
// is the programmer's.
func Read[T any](file string, texts ...[]byte) (v T) {
	for _, text := range texts {
		if err := Decode(file, text, &v); err != nil {
			panic(err.Error())
		}
	}
	return v
}

// Decode is [Read] of one text into v, for those who try a text of their own.
func Decode(file string, text []byte, v any) error {
	if reword != nil {
		text = reword(file, text)
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(v); err != nil {
		if unknown := (*toml.StrictMissingError)(nil); errors.As(err, &unknown) {
			err = errors.New(unknown.String()) // it names the keys
		}
		return fmt.Errorf("%s: %w", file, err)
	}
	return nil
}

// reword changes a text before it is read; nil in the program.
var reword func(file string, text []byte) []byte

// Reword has every file changed as it is read. It is for a test that shows that no
// meaning hangs on words, and is called before anything else.
func Reword(change func(file string, text []byte) []byte) { reword = change }

// Error is an error whose words stand in a file, which is read when they are first
// needed. Like one of [errors.New] it is equal to itself alone.
func Error(words func() string) error { return &saying{words} }

type saying struct{ words func() string }

func (e *saying) Error() string { return e.words() }
