package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
)

// A parcel is one file as it was understood, ready to be put away: exactly one of
// visit, reviews, practice and reason is there, or nothing where the file is no
// business of the ledger's.
type parcel struct {
	name     string
	size     int64
	hash     string // SHA-256 of the bytes
	packed   []byte // the bytes as zstd; nil where they are too many
	visit    *visit
	reviews  []review.Entry
	practice []practicelog.Result
	reason   string // why it is quarantined
	id       string // of the visit that it is or speaks of, as far as known
}

// A visit is a journal that is whole.
type visit struct {
	digest Digest
	hashes []string
	text   string // the digest as JSON
	packed []byte
}

// practiceName ends the name of a file of practice results.
const practiceName = "practice.jsonl"

// Bytes that a journal and a file of reviews begin with, where a mail program put
// nothing before them.
const firstBytes = `{"sha256":"`

var errTooLarge = datafile.Error(func() string { return words().TooLarge })

// unpack reads a file and says what it is. The error is one of reading.
func (l *Ledger) unpack(s Source, now time.Time) (*parcel, error) {
	p := &parcel{name: s.Name}
	data, err := readSource(s)
	if err != nil && !errors.Is(err, errTooLarge) {
		return nil, err
	}
	named := strings.HasSuffix(s.Name, record.Suffix) || strings.HasSuffix(s.Name, review.Suffix)
	ours := bytes.HasPrefix(bytes.TrimPrefix(data, []byte("\ufeff")), []byte(firstBytes))
	p.size = int64(len(data))
	sum := sha256.Sum256(data)
	p.hash = hex.EncodeToString(sum[:])
	switch {
	case err != nil && (named || ours):
		p.reason = fmt.Sprintf(words().Stays, err, record.MaxSize>>20)
	case err != nil:
	case strings.HasSuffix(s.Name, practiceName):
		list, damage := practicelog.Read(bytes.NewReader(data))
		if damage != nil {
			p.reason = damage.Error()
		} else {
			p.practice = list
		}
	case !named && !ours:
	case isReviews(s.Name, data):
		p.unpackReviews(data)
	default:
		p.unpackVisit(l, data, now)
	}
	if p.reason != "" && err == nil || p.reviews != nil {
		p.packed = l.packer.EncodeAll(data, nil)
	}
	return p, nil
}

func readSource(s Source) ([]byte, error) {
	f, err := s.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close() // read only: nothing to lose
	data, err := io.ReadAll(io.LimitReader(f, record.MaxSize+1))
	if err == nil && len(data) > record.MaxSize {
		err = errTooLarge
	}
	return data, err
}

// isReviews tells a file of reviews from a journal: by its first line, or by its
// name where that line is not whole.
func isReviews(name string, data []byte) bool {
	line, _, _ := bytes.Cut(data, []byte("\n"))
	return bytes.Contains(line, []byte(`","review":{`)) || strings.HasSuffix(name, review.Suffix)
}

func (p *parcel) unpackReviews(data []byte) {
	list, err := review.Parse(review.RepairLineEnds(data))
	switch {
	case err != nil:
		p.reason = err.Error()
	case len(list) == 0:
		p.reason = words().Empty
	case !record.IsID(list[0].Visit):
		p.reason = fmt.Sprintf("%v, not %q", record.ErrID, list[0].Visit)
	default:
		p.reviews, p.id = list, list[0].Visit
	}
}

func (p *parcel) unpackVisit(l *Ledger, data []byte, now time.Time) {
	c, err := record.Parse(data)
	if err == nil {
		err = c.Damage
	}
	if err != nil {
		p.reason = err.Error()
		return
	}
	p.id = c.Head().ID
	v := &visit{hashes: c.Hashes, packed: l.packer.EncodeAll(c.Bytes, nil)}
	if v.digest, v.text, err = l.digest(c, now); err != nil {
		p.reason = err.Error()
		return
	}
	p.visit = v
}
