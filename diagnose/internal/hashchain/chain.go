// Package hashchain links lines of JSON by their hashes, so that a changed, missing,
// moved or added byte shows at its line.
//
// Start with [Link] and [Unlink]. A line is
//
//	{"sha256":"HASH",REST
//
// where HASH is the SHA-256, in 64 lower-case hexadecimal digits, of the HASH of
// the line before (nothing for the first) followed by REST, every byte of it.
package hashchain

import (
	"ampwalk/diagnose/base/datafile"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
)

const (
	opening = `{"sha256":"`
	closing = `",`
	hexLen  = 2 * sha256.Size
)

// Least is the fewest bytes of a line.
const Least = len(opening) + hexLen + len(closing)

// ErrChanged says that a line does not follow the one before as it was written.
var ErrChanged = datafile.Error(func() string { return words().Changed })

// Link makes the line that follows one with hash prev, "" for the first, of a
// JSON object that is not empty. It has no line feed.
func Link(prev string, object []byte) (line []byte, hash string) {
	rest := object[1:] // after the brace
	hash = sum(prev, rest)
	line = append(line, opening+hash+closing...)
	return append(line, rest...), hash
}

// Unlink gives the object of a line that follows one with hash prev.
func Unlink(prev string, line []byte) (object []byte, hash string, err error) {
	rest, ok := bytes.CutPrefix(line, []byte(opening))
	if !ok || len(rest) < hexLen+len(closing) {
		return nil, "", ErrChanged
	}
	hash = string(rest[:hexLen])
	rest, ok = bytes.CutPrefix(rest[hexLen:], []byte(closing))
	if !ok || hash != sum(prev, rest) {
		return nil, "", ErrChanged
	}
	return append([]byte("{"), rest...), hash, nil
}

func sum(prev string, rest []byte) string {
	h := sha256.New()
	h.Write([]byte(prev))
	h.Write(rest)
	return hex.EncodeToString(h.Sum(nil))
}

// Hash is what a line that [Unlink] found whole says of itself.
func Hash(line []byte) string { return string(line[len(opening) : len(opening)+hexLen]) }
