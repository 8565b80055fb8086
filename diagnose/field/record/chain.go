package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/internal/hashchain"
)

// version is what is written.
const version = 3

// readers read the lines of every version that was ever written, from the brace
// on and without the hash. A new version adds one and changes none.
var readers = map[int]func(line []byte) (body, error){1: readFirst, 2: readSecond, 3: readThird}

// readFirst reads a line of version 1, which knows no conclusion.
func readFirst(line []byte) (body, error) {
	b, err := readSecond(line)
	b.Conclusion = nil
	return b, err
}

// readSecond reads a line of version 2, which knows no ids of what was chosen.
func readSecond(line []byte) (body, error) {
	b, err := readThird(line)
	old().name(b.Answer)
	return b, err
}

// readThird reads a line of version 3.
func readThird(line []byte) (b body, err error) {
	err = json.Unmarshal(line, &b)
	return b, err
}

var versionFirst = regexp.MustCompile(`^\{"version":[0-9]+`)

// versionOf is the version that a first line says.
func versionOf(line []byte) (int, error) {
	var first struct {
		Version int `json:"version"`
	}
	if beginning := versionFirst.Find(line); beginning != nil { // as it is written: the rest is long
		line = append(bytes.Clone(beginning), '}')
	}
	err := json.Unmarshal(line, &first)
	switch {
	case err != nil:
		return 0, fmt.Errorf(words().LineUnreadable, err)
	case first.Version > version:
		return 0, errVersion
	case readers[first.Version] == nil:
		return 0, errPlace
	}
	return first.Version, nil
}

// body is a line without its hash.
type body struct {
	Version int `json:"version,omitempty"`
	visiting.Entry
}

// link makes the line of e after a line with hash prev ("" for the first).
func link(prev string, e visiting.Entry) (line []byte, hash string, err error) {
	b := body{Entry: e}
	if prev == "" {
		b.Version = version
	}
	text, err := json.Marshal(b)
	if err != nil {
		return nil, "", err
	}
	line, hash = hashchain.Link(prev, text)
	return append(line, '\n'), hash, nil
}

var (
	errTorn    = datafile.Error(func() string { return words().Torn })
	errVersion = datafile.Error(func() string { return words().Version })
	errPlace   = datafile.Error(func() string { return words().Place })
)

// unlink checks one line, without its line feed, after those of k, and gives its
// entry, its hash and the version of the journal.
func (k kept) unlink(line []byte) (e visiting.Entry, hash string, version int, err error) {
	line, hash, err = hashchain.Unlink(k.hash, line)
	if err != nil {
		return e, "", 0, err
	}
	first := k.hash == ""
	if version = k.version; first {
		if version, err = versionOf(line); err != nil {
			return e, "", 0, err
		}
	}
	b, err := readers[version](line)
	switch {
	case err != nil:
		return e, "", 0, fmt.Errorf(words().LineUnreadable, err)
	case first != (b.Version > 0), first != (b.Head != nil), !single(b.Entry):
		return e, "", 0, errPlace
	}
	return b.Entry, hash, version, nil
}

func single(e visiting.Entry) bool {
	n := 0
	for _, set := range []bool{e.Head != nil, e.Answer != nil, e.End != nil, e.Conclusion != nil} {
		if set {
			n++
		}
	}
	return n == 1
}

// kept is what a journal's bytes hold.
type kept struct {
	entries []visiting.Entry
	hash    string  // of the last whole line
	version int     // as the first line says
	whole   int     // bytes up to the end of the last whole line
	damage  *Damage // nil if all is whole
}

// check reads a journal up to its first broken line.
func check(data []byte) kept {
	var k kept
	for k.whole < len(data) {
		line, _, ended := bytes.Cut(data[k.whole:], []byte("\n"))
		var e visiting.Entry
		hash, version, err := "", 0, errTorn
		if ended {
			e, hash, version, err = k.unlink(line)
		}
		if err != nil {
			k.damage = &Damage{Line: len(k.entries) + 1, Bytes: len(data) - k.whole, Cause: err}
			return k
		}
		k.entries, k.hash, k.version, k.whole = append(k.entries, e), hash, version, k.whole+len(line)+1
	}
	return k
}

// Damage says what of a journal could not be kept.
type Damage struct {
	Line  int    // the first broken line, from 1
	Bytes int    // from its start to the end of the file
	Cause error  // what is wrong with that line
	Aside string // the file that the broken part was copied to, "" if it was not
}

func (d *Damage) Error() string {
	text := fmt.Sprintf(words().Damaged, d.Line, d.Cause, d.Bytes)
	if d.Aside != "" {
		text += fmt.Sprintf(words().KeptIn, d.Aside)
	}
	return text
}

func (d *Damage) Unwrap() error { return d.Cause }
