package ledger

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	"github.com/klauspost/compress/zstd"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/record"
)

//go:embed migrations/*.sql
var migrations embed.FS

// A Ledger is open for reading and writing, by several goroutines and several
// programs at a time.
type Ledger struct {
	db     *sql.DB
	now    func() time.Time
	packer *zstd.Encoder
	opener *zstd.Decoder
	frozen bool
}

// IsURL reports whether where is the address of a PostgreSQL database, and not a
// file.
func IsURL(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// Open opens the ledger in the file where, or at the address where
// ("postgres://..."), makes it if there is none, and brings it up to what this
// program knows. A ledger of a newer program is refused: [ErrNewer].
func Open(ctx context.Context, where string, now func() time.Time) (*Ledger, error) {
	return openAs(ctx, where, now, toWrite)
}

// OpenToRead is [Open] for those who change nothing. They can open a file that cannot be
// written to, as on a share or in a backup, if this version of the program made it.
func OpenToRead(ctx context.Context, where string, now func() time.Time) (*Ledger, error) {
	l, err := Open(ctx, where, now)
	if err == nil || !cannotWrite(err) {
		return l, err
	}
	if l, err = openAs(ctx, where, now, toRead); err != nil {
		return nil, err
	}
	l.frozen = true
	return l, nil
}

// Frozen reports whether the ledger is read as its file stands, without what a program
// that was stopped has left in the file with "-wal" at the end of its name.
func (l *Ledger) Frozen() bool { return l.frozen }

// ErrNewer says that a newer program changed the tables.
var ErrNewer = datafile.Error(func() string { return words().Newer })

func openAs(ctx context.Context, where string, now func() time.Time, how string) (*Ledger, error) {
	packer, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(runtime.GOMAXPROCS(0)))
	if err != nil {
		return nil, err
	}
	opener, err := zstd.NewReader(nil, zstd.WithDecoderMaxMemory(record.MaxSize), zstd.WithDecoderConcurrency(1))
	if err != nil {
		return nil, err
	}
	l := &Ledger{now: now, packer: packer, opener: opener}
	options := []goose.ProviderOption{goose.WithDisableGlobalRegistry(true)}
	dialect := goose.DialectSQLite3
	if IsURL(where) {
		dialect = goose.DialectPostgres
		locker, err := lock.NewPostgresSessionLocker()
		if err != nil {
			return nil, err
		}
		options = append(options, goose.WithSessionLocker(locker))
		l.db, err = openPostgres(where)
		if err != nil {
			return nil, err
		}
	} else if l.db, err = openSQLite(where, how); err != nil {
		return nil, err
	}
	if err := l.migrate(ctx, dialect, options, how); err != nil {
		return nil, errors.Join(fmt.Errorf(words().NotOpened, spoken(where), explained(err)), l.db.Close())
	}
	return l, nil
}

func openPostgres(address string) (*sql.DB, error) {
	db, err := sql.Open("pgx", address)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(4)
	return db, nil
}

// pragmas of each connection: readers go on while one writes; what was committed
// is on the disk; who finds another writing waits for it [ms]; pages kept in
// memory by a connection [KiB, negative].
var pragmas = []string{"journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "busy_timeout(20000)", "cache_size(-8000)"}

// The ways of opening a file. One that cannot be written to is read as one that nobody
// changes: SQLite otherwise writes beside it who reads.
const (
	toWrite = "write"
	toRead  = "read"
)

func openSQLite(file, how string) (*sql.DB, error) {
	file, err := filepath.Abs(file)
	if err != nil {
		return nil, err
	}
	path := filepath.ToSlash(file)
	if !strings.HasPrefix(path, "/") { // a drive of Windows
		path = "/" + path
	}
	// A transaction is for writing from its beginning: one that began by reading
	// would fail where another wrote in between.
	query := url.Values{"_pragma": pragmas, "_txlock": {"immediate"}}
	if how == toRead {
		query = url.Values{"mode": {"ro"}, "immutable": {"1"}}
	}
	address := url.URL{Scheme: "file", Path: path, RawQuery: query.Encode()}
	db, err := sql.Open("sqlite", address.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(4)
	return db, nil
}

// migrate brings the tables up to date. Two programs may do it at once: on
// PostgreSQL one waits for the other; on SQLite the second fails and finds on
// trying again that all is done.
func (l *Ledger) migrate(ctx context.Context, dialect goose.Dialect, options []goose.ProviderOption, how string) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(dialect, l.db, files, options...)
	if err != nil {
		return err
	}
	for try := 1; how == toWrite; try++ {
		if _, err = p.Up(ctx); err == nil {
			break
		}
		if pending, e := p.HasPending(ctx); e == nil && !pending {
			break
		}
		if try == tries || cannotWrite(err) {
			return err
		}
	}
	here, ours, err := p.GetVersions(ctx)
	switch {
	case err != nil:
		return err
	case here > ours:
		return ErrNewer
	case here < ours:
		return errOlder
	}
	return nil
}

// Close lets go of the ledger.
func (l *Ledger) Close() error {
	l.opener.Close()
	return errors.Join(l.packer.Close(), l.db.Close())
}

// tries is how often a transaction is begun that another one got in the way of.
const tries = 8

// inTx does all of do or nothing. Where another transaction got in the way, do is
// done again from the start.
func (l *Ledger) inTx(ctx context.Context, do func(*work) error) error {
	for try := 1; ; try++ {
		err := l.once(ctx, do)
		if err == nil || try == tries || !inTheWay(err) {
			return explained(err)
		}
	}
}

func (l *Ledger) once(ctx context.Context, do func(*work) error) error {
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := do(&work{Ledger: l, ctx: ctx, tx: tx, statements: map[string]*sql.Stmt{}}); err != nil {
		if back := tx.Rollback(); back != nil && !errors.Is(back, sql.ErrTxDone) {
			return errors.Join(err, back)
		}
		return err
	}
	return tx.Commit()
}

// errMoved says that a row was changed by another transaction after it was read.
var errMoved = datafile.Error(func() string { return words().Overtaken })

// inTheWay reports whether an error is another transaction's doing and may be
// gone on trying again.
func inTheWay(err error) bool {
	if pg := (*pgconn.PgError)(nil); errors.As(err, &pg) {
		return pg.Code == "40001" || pg.Code == "40P01" // serialization failure, deadlock
	}
	if lite := (*sqlite.Error)(nil); errors.As(err, &lite) {
		return lite.Code()&0xff == sqlite3.SQLITE_BUSY
	}
	return errors.Is(err, errMoved)
}

// work is one transaction, with its statements made ready once.
type work struct {
	*Ledger
	ctx        context.Context
	tx         *sql.Tx
	statements map[string]*sql.Stmt
}

func (w *work) ready(text string) (*sql.Stmt, error) {
	if s := w.statements[text]; s != nil {
		return s, nil
	}
	s, err := w.tx.PrepareContext(w.ctx, text)
	if err == nil {
		w.statements[text] = s
	}
	return s, err
}

// exec gives the number of rows that were changed.
func (w *work) exec(text string, args ...any) (int64, error) {
	s, err := w.ready(text)
	if err != nil {
		return 0, err
	}
	r, err := s.ExecContext(w.ctx, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// one reads one row into to; false if there is none.
func (w *work) one(text string, args []any, to ...any) (bool, error) {
	s, err := w.ready(text)
	if err != nil {
		return false, err
	}
	err = s.QueryRowContext(w.ctx, args...).Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

// millis is a time as the tables have it; the zero time is 0.
func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func moment(millis int64) time.Time {
	if millis == 0 {
		return time.Time{}
	}
	return time.UnixMilli(millis).UTC()
}

// read is a transaction that only reads: it holds nobody up.
func (l *Ledger) read(ctx context.Context, do func(*work) error) error {
	tx, err := l.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead})
	if err != nil {
		return err
	}
	return explained(errors.Join(do(&work{Ledger: l, ctx: ctx, tx: tx, statements: map[string]*sql.Stmt{}}), tx.Rollback()))
}
