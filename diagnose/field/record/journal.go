package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/visiting"
)

// Suffix ends the name of every journal.
const Suffix = ".visit.jsonl"

var (
	// ErrLocked says that another program is writing the visit.
	ErrLocked = datafile.Error(func() string { return words().Locked })
	// ErrID says that a visit's id has characters that a file name must not have.
	ErrID = datafile.Error(func() string { return words().Id })
	// ErrUnreadable says that not even the head of a journal is whole.
	ErrUnreadable = datafile.Error(func() string { return words().Unreadable })
)

// MaxSize is far above any real visit; a larger file is not one [bytes].
const MaxSize = wholefile.Journal

var idForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,79}$`)

// IsID reports whether id can be that of a visit: a file name, and no path.
func IsID(id string) bool { return idForm.MatchString(id) }

// A Journal is one visit's file, open and locked for appending.
type Journal struct {
	id      string
	file    *os.File
	version int    // as its first line says
	hash    string // of the last line
	data    []byte // all whole lines, to be written again where the file is gone
	err     error  // set once the file can no longer be trusted
}

// Create makes an empty journal in dir, which is made if missing, and locks it.
// Its id is made of the head, which has none yet.
func Create(dir string, h visiting.Head) (*Journal, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	base, err := newID(h)
	if err != nil {
		return nil, err
	}
	for n := 1; ; n++ {
		id := base
		if n > 1 {
			id = fmt.Sprintf("%s-%d", base, n)
		}
		f, err := os.OpenFile(path(dir, id), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, os.ErrExist) && n < 1000 {
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := errors.Join(lock(f), wholefile.SyncFolder(dir)); err != nil {
			return nil, errors.Join(err, f.Close())
		}
		return &Journal{id: id, file: f, version: version}, nil
	}
}

// newID is the day, the hour, the site's name in the letters of an id, and some letters
// of a hash of the head. A name may have none of an id's letters, and a name and a minute
// may be those of two visits on two machines.
func newID(h visiting.Head) (string, error) {
	name := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(h.SiteName), "-"), "-")
	if len(name) > 40 {
		name = strings.TrimRight(name[:40], "-")
	}
	if name == "" {
		name = "site"
	}
	head, err := json.Marshal(h)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(head)
	letters := strings.ToLower(base32.StdEncoding.EncodeToString(sum[:]))[:6]
	return h.StartedAt.Format("20060102-1504-") + name + "-" + letters, nil
}

func path(dir, id string) string { return filepath.Join(dir, id+Suffix) }

// Open locks the journal of visit id in dir and gives the entries it holds. A
// damaged end is copied aside, cut off and reported; an error is returned only
// if nothing can be read or another program has the visit open.
func Open(dir, id string) (*Journal, []visiting.Entry, *Damage, error) {
	if !idForm.MatchString(id) {
		return nil, nil, nil, fmt.Errorf("%w, not %q", ErrID, id)
	}
	f, err := wholefile.Open(path(dir, id), os.O_RDWR)
	if err != nil {
		return nil, nil, nil, err
	}
	j, entries, damage, err := open(f, id)
	if err != nil {
		return nil, nil, nil, errors.Join(err, f.Close())
	}
	return j, entries, damage, nil
}

func open(f *os.File, id string) (*Journal, []visiting.Entry, *Damage, error) {
	if err := lock(f); err != nil {
		return nil, nil, nil, err
	}
	data, err := wholefile.All(f, MaxSize)
	if err == nil {
		err = bounded(data)
	}
	if err != nil {
		return nil, nil, nil, err
	}
	k := check(data)
	if len(k.entries) == 0 {
		return nil, nil, nil, unreadable(f.Name(), k)
	}
	if k.damage != nil {
		if k.damage.Aside, err = setAside(f.Name(), ".torn", data[k.whole:]); err != nil {
			return nil, nil, nil, err
		}
		if err := f.Truncate(int64(k.whole)); err != nil {
			return nil, nil, nil, err
		}
		if err := f.Sync(); err != nil {
			return nil, nil, nil, err
		}
	}
	return &Journal{id: id, file: f, version: k.version, hash: k.hash, data: data[:k.whole]}, k.entries, k.damage, nil
}

// Read gives the entries of a journal file without locking or changing it; any
// damage is reported beside what is whole.
func Read(name string) ([]visiting.Entry, *Damage, error) {
	data, err := readFile(name)
	if err != nil {
		return nil, nil, err
	}
	k := check(data)
	if len(k.entries) == 0 {
		return nil, nil, unreadable(name, k)
	}
	return k.entries, k.damage, nil
}

// Fingerprint is the hash of the last whole line of a journal file: it vouches
// for every line before it. It changes with every entry.
func Fingerprint(name string) (string, error) {
	data, err := readFile(name)
	if err != nil {
		return "", err
	}
	return check(data).hash, nil
}

func readFile(name string) ([]byte, error) {
	data, err := wholefile.Read(name, MaxSize)
	if err == nil {
		err = bounded(data)
	}
	if err != nil {
		return nil, err
	}
	return data, nil
}

// MaxLines is far above any real visit, which has some two hundred lines. Each line of a
// journal may cost an inference when the visit is read again. Judgement.
const MaxLines = 5000

// ErrTooLong says that a journal has more than [MaxLines] lines.
var ErrTooLong = datafile.Error(func() string { return fmt.Sprintf(words().TooLong, MaxLines) })

func bounded(data []byte) error {
	if bytes.Count(data, []byte("\n")) > MaxLines {
		return ErrTooLong
	}
	return nil
}

func unreadable(name string, k kept) error {
	if k.damage == nil {
		return fmt.Errorf(words().EmptyFile, name, ErrUnreadable)
	}
	return fmt.Errorf("%s: %w: line 1: %w", name, ErrUnreadable, k.damage.Cause)
}

// setAside keeps what is not in the journal of that name in a new file beside it.
func setAside(name, suffix string, data []byte) (string, error) {
	for n := 1; ; n++ {
		aside := name + suffix
		if n > 1 {
			aside = fmt.Sprintf("%s.%d", aside, n)
		}
		f, err := os.OpenFile(aside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, os.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = f.Write(data)
		return aside, errors.Join(err, f.Sync(), f.Close(), wholefile.SyncFolder(filepath.Dir(name)))
	}
}

// ID names the visit.
func (j *Journal) ID() string { return j.id }

// Append writes e and returns once it is on the disk, in a file that has the visit's
// name and every line before. If it fails, nothing of e is left in the journal, and e
// may be tried again, or the journal refuses every later entry.
func (j *Journal) Append(e visiting.Entry) error {
	if j.err != nil {
		return j.err
	}
	if e.Conclusion != nil && j.version == 1 {
		return nil // the program that began the visit could not read on
	}
	if e.Answer != nil && bytes.Count(j.data, []byte("\n")) >= MaxLines-roomToEnd {
		return ErrTooLong
	}
	line, hash, err := link(j.hash, e)
	if err != nil {
		return err
	}
	data := append(j.data, line...)
	if j.inPlace(len(j.data)) {
		err = j.write(data)
	}
	if err == nil {
		err = j.secure(data)
	}
	if err != nil {
		return err
	}
	j.hash, j.data = hash, data
	return nil
}

// roomToEnd is how many lines are left for the end of a visit and its conclusion, should it
// be ended and taken up again a few times.
const roomToEnd = 20

// write writes to the file what data has beyond what is there.
func (j *Journal) write(data []byte) error {
	size := int64(len(j.data))
	_, err := j.file.WriteAt(data[size:], size)
	if err == nil {
		err = j.file.Sync()
	}
	if err != nil {
		if undo := j.file.Truncate(size); undo != nil {
			j.err = fmt.Errorf(words().NotWritten, err)
		}
	}
	return err
}

// Close unlocks the visit.
func (j *Journal) Close() error {
	if j.err == nil {
		j.err = os.ErrClosed
	}
	return j.file.Close()
}

// Discard closes and removes a journal that has no answer: at most its head was appended.
func (j *Journal) Discard() error {
	if bytes.Count(j.data, []byte("\n")) > 1 {
		return errors.New(words().NotEmpty)
	}
	return errors.Join(j.Close(), os.Remove(j.file.Name()))
}
