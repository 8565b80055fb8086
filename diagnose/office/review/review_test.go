package review

import (
	"bytes"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/internal/hashchain"
	"ampwalk/diagnose/office/signature"
)

var at = time.Date(2026, 11, 21, 9, 0, 0, 0, time.UTC)

func newKey(t *testing.T) signature.Key {
	t.Helper()
	k, err := signature.New(rand.Reader)
	require.NoError(t, err)
	return k
}

// reviews are a comment, a question and an acceptance of the journal of a whole
// visit, as signed by "A. Supervisor", and who that is.
func reviews(t *testing.T) (journal []byte, list []Entry, names signature.Names) {
	t.Helper()
	journal, err := os.ReadFile(filepath.Join("..", "..", "field", "record", "testdata", "whole"+record.Suffix))
	require.NoError(t, err)
	c, err := record.Parse(journal)
	require.NoError(t, err)
	k := newKey(t)
	names, err = signature.ParseNames("names.toml", []byte("[[person]]\nname = \"A. Supervisor\"\nkey = \""+k.Public()+"\"\nfrom = 2026-01-01T00:00:00Z\n"))
	require.NoError(t, err)
	for i, r := range []Review{
		{Kind: Comment, Step: "rest_v", Text: "a <good> reading & \x1b[31m\n\u2028", Head: c.Hashes[9]},
		{Kind: SendBack, Text: "Why was the plug left open?", Head: c.Hashes[20]},
		{Kind: Accept, Found: []string{"battery-worn 0.91", "open: replace the battery"}, Head: c.Fingerprint()},
	} {
		r.Visit, r.Who, r.At = c.Head().ID, "A. Supervisor", at.Add(time.Duration(i)*time.Hour)
		e, err := Sign(Last(list), r, k)
		require.NoError(t, err)
		list = append(list, e)
	}
	return journal, list, names
}

func TestSignedIsReadBack(t *testing.T) {
	journal, list, names := reviews(t)
	got, err := Parse(Bytes(list))
	require.NoError(t, err)
	assert.Equal(t, list, got)
	assert.Equal(t, Accept, Decision(got).Kind)
	c, err := record.Parse(journal)
	require.NoError(t, err)
	assert.Empty(t, Verify(c.Head().ID, c.Hashes, got, names, nil))
	assert.Equal(t, Accepted, StateOf(true, c.Fingerprint(), got))
}

// Reviews of version 1, kept as they were written: every later program must read
// and verify them.
func TestVersion1IsVerified(t *testing.T) {
	folder := filepath.Join("..", "..", "..", "testdata", "examples")
	read := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(folder, name))
		require.NoError(t, err)
		return data
	}
	names, err := signature.ParseNames("names.toml", read("names.toml"))
	require.NoError(t, err)
	assert.True(t, accepted(read("accepted.visit.jsonl"), read("accepted"+Suffix), names))
}

// accepted says whether a journal and its reviews, as bytes, are what was accepted.
func accepted(journal, reviews []byte, names signature.Names) bool {
	c, err := record.Parse(journal)
	if err != nil || c.Damage != nil {
		return false
	}
	list, err := Parse(reviews)
	return err == nil && Verify(c.Head().ID, c.Hashes, list, names, nil) == nil && StateOf(true, c.Fingerprint(), list) == Accepted
}

// After acceptance no byte of the visit or of a decision can be changed or cut off.
func TestEveryByteAfterAcceptance(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes some seconds")
	}
	journal, list, names := reviews(t)
	said := Bytes(list)
	require.True(t, accepted(journal, said, names))
	for i := range said {
		said[i] ^= 1 << (i % 8)
		require.False(t, accepted(journal, said, names), "byte %d of the reviews", i)
		said[i] ^= 1 << (i % 8)
		require.False(t, accepted(journal, said[:i], names), "reviews cut at %d", i)
	}
	for i := range journal {
		journal[i] ^= 1 << (i % 8)
		require.False(t, accepted(journal, said, names), "byte %d of the journal", i)
		journal[i] ^= 1 << (i % 8)
		require.False(t, accepted(journal[:i], said, names), "journal cut at %d", i)
	}
}

// Who changes a byte and makes all hashes again is still found, since a signature
// cannot be made again.
func TestHashesMadeAnew(t *testing.T) {
	_, list, _ := reviews(t)
	line := bytes.TrimSuffix(list[2].Line, []byte("\n"))
	object, _, err := hashchain.Unlink(list[1].Hash, line)
	require.NoError(t, err)
	for i := 1; i < len(object)-1; i++ { // the braces belong to the link
		changed := bytes.Clone(object)
		changed[i] ^= 1 << (i % 8)
		forged, _ := hashchain.Link(list[1].Hash, changed)
		_, err := Parse(append(Bytes(list[:2]), append(forged, '\n')...))
		require.Error(t, err, "byte %d: %s", i, changed)
	}
	// Neither can a review be left out, moved or put onto another visit.
	for _, other := range [][]Entry{{list[0], list[2]}, {list[1]}, {list[1], list[0], list[2]}} {
		var forged []byte
		prev := ""
		for _, e := range other {
			object, _, err := hashchain.Unlink(before(list, e), bytes.TrimSuffix(e.Line, []byte("\n")))
			require.NoError(t, err)
			var line []byte
			line, prev = hashchain.Link(prev, object)
			forged = append(append(forged, line...), '\n')
		}
		_, err := Parse(forged)
		require.ErrorIs(t, err, signature.ErrSignature)
	}
}

func before(list []Entry, e Entry) string {
	for i := range list {
		if list[i].Hash == e.Hash {
			return Last(list[:i])
		}
	}
	return ""
}

func TestSignRefusesWhatIsNotComplete(t *testing.T) {
	k := newKey(t)
	good := Review{Visit: "x", Head: "h", Kind: Comment, Who: "A", At: at, Text: "t"}
	_, err := Sign("", good, k)
	require.NoError(t, err)
	tests := []struct {
		name string
		with func(*Review)
	}{
		{"no visit", func(r *Review) { r.Visit = "" }},
		{"no head", func(r *Review) { r.Head = "" }},
		{"no name", func(r *Review) { r.Who = " " }},
		{"no time", func(r *Review) { r.At = time.Time{} }},
		{"no such kind", func(r *Review) { r.Kind = "nod" }},
		{"no words", func(r *Review) { r.Text = "" }},
		{"a question without words", func(r *Review) { r.Kind, r.Text = SendBack, "\n" }},
		{"nothing accepted", func(r *Review) { r.Kind = Accept }},
		{"a comment that accepts", func(r *Review) { r.Found = []string{"x"} }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := good
			tt.with(&r)
			_, err := Sign("", r, k)
			require.ErrorIs(t, err, ErrReview)
		})
	}
}

func TestVerifySaysWhatDoesNotFit(t *testing.T) {
	journal, list, names := reviews(t)
	c, err := record.Parse(journal)
	require.NoError(t, err)
	id := c.Head().ID

	doubts := Verify(id, c.Hashes[:15], list, names, nil)
	require.Len(t, doubts, 2, "what was said of later answers")
	assert.ErrorIs(t, doubts[0], ErrOtherJournal)
	doubts = Verify("another", c.Hashes, list[:1], names, nil)
	require.Len(t, doubts, 1)
	assert.ErrorIs(t, doubts[0], ErrOtherVisit)
	doubts = Verify(id, c.Hashes, list, signature.Names{}, nil)
	require.Len(t, doubts, 3)
	assert.ErrorIs(t, doubts[0], signature.ErrUnknownKey)

	other := list[0].Review
	other.Visit = "another"
	e, err := Sign(Last(list), other, newKey(t))
	require.NoError(t, err)
	_, err = Parse(Bytes(append(list, e)))
	damage := (*Damage)(nil)
	require.True(t, errors.As(err, &damage))
	assert.Equal(t, 4, damage.Line)
	assert.ErrorIs(t, err, errOthers)
}

func TestStateOf(t *testing.T) {
	on := func(head string, kind Kind) Entry { return Entry{Review: Review{Head: head, Kind: kind}} }
	tests := []struct {
		name     string
		finished bool
		list     []Entry
		want     State
	}{
		{"begun", false, nil, UnderWay},
		{"ended", true, nil, HandedIn},
		{"a comment decides nothing", true, []Entry{on("now", Comment)}, HandedIn},
		{"sent back", true, []Entry{on("now", SendBack)}, SentBack},
		{"sent back, then commented", true, []Entry{on("now", SendBack), on("now", Comment)}, SentBack},
		{"gone on with, not ended", false, []Entry{on("then", SendBack)}, UnderWay},
		{"gone on with and ended", true, []Entry{on("then", SendBack)}, HandedIn},
		{"accepted", true, []Entry{on("then", SendBack), on("now", Accept)}, Accepted},
		{"accepted, then corrected", true, []Entry{on("then", Accept)}, HandedIn},
		{"accepted, then sent back", true, []Entry{on("now", Accept), on("now", SendBack)}, SentBack},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, StateOf(tt.finished, "now", tt.list)) })
	}
}

func FuzzParse(f *testing.F) {
	k, err := signature.New(rand.Reader)
	require.NoError(f, err)
	e, err := Sign("", Review{Visit: "x", Head: "h", Kind: Comment, Who: "A", At: at, Text: "t"}, k)
	require.NoError(f, err)
	f.Add(e.Line)
	f.Add(append(bytes.Clone(e.Line), e.Line...))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := Parse(data)
		whole := Bytes(list)
		require.True(t, bytes.HasPrefix(data, whole))
		require.Equal(t, err == nil, len(whole) == len(data))
	})
}
