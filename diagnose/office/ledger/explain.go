package ledger

import (
	"errors"
	"net/url"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"ampwalk/diagnose/base/datafile"
)

// errOlder says that the tables must be changed first, and that nobody can.
var errOlder = datafile.Error(func() string { return words().Older })

// spoken is where a ledger is, without the password of an address.
func spoken(where string) string {
	if !IsURL(where) {
		return where
	}
	u, err := url.Parse(where)
	if err != nil {
		return "postgres://"
	}
	return u.Redacted()
}

// codeOf is the primary code of an error of SQLite, 0 for others.
func codeOf(err error) int {
	if lite := (*sqlite.Error)(nil); errors.As(err, &lite) {
		return lite.Code() & 0xff
	}
	return 0
}

// cannotWrite reports whether an error says that the file, or its folder, can only be read.
func cannotWrite(err error) bool {
	code := codeOf(err)
	return code == sqlite3.SQLITE_READONLY || code == sqlite3.SQLITE_CANTOPEN
}

// explained is an error in the words of people, where they are known.
func explained(err error) error {
	text := map[int]string{
		sqlite3.SQLITE_NOTADB:   words().NotALedger,
		sqlite3.SQLITE_CORRUPT:  words().Corrupt,
		sqlite3.SQLITE_READONLY: words().ReadOnly,
		sqlite3.SQLITE_CANTOPEN: words().CannotOpen,
		sqlite3.SQLITE_FULL:     words().Full,
	}[codeOf(err)]
	if text == "" {
		return err
	}
	return plainError{text, err}
}

// A plainError says in plain words what another error says.
type plainError struct {
	text string
	err  error
}

func (e plainError) Error() string { return e.text }
func (e plainError) Unwrap() error { return e.err }
