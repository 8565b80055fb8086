package ledger

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

// Programs that hand in the same visits at once, in other orders and at other
// lengths, lose none and double none: each ends as the longest that any had.
func TestHandInsAtOnce(t *testing.T) {
	const programs, visits = 4, 60
	each(t, func(t *testing.T, where string) {
		var all sync.WaitGroup
		errs := make([]error, programs)
		for p := range programs {
			l := open(t, where)
			var pairs []any
			for i := range visits {
				n := (i*7 + p*13) % visits
				site := fmt.Sprint("site ", n%5)
				pairs = append(pairs, fmt.Sprint(p, "-", n), visitOf(t, fmt.Sprintf("v%02d", n), site, 1+(n+p)%programs, false))
			}
			all.Go(func() {
				for i := 0; i < len(pairs) && errs[p] == nil; i += 20 { // several transactions each
					errs[p] = l.HandIn(ctx, files(pairs[i:i+20]...), signature.Names{}, func(o Outcome) {
						if o.Fate == SetAside || o.Fate == Unread {
							errs[p] = fmt.Errorf("%s: %s", o.Name, o.Reason)
						}
					})
				}
			})
		}
		all.Wait()
		for _, err := range errs {
			require.NoError(t, err)
		}
		l := open(t, where)
		page, err := l.List(ctx, Query{Limit: 1000})
		require.NoError(t, err)
		require.Len(t, page, visits)
		for n := range visits {
			v := visitIn(t, l, fmt.Sprintf("v%02d", n))
			assert.Equal(t, visitOf(t, v.Digest.ID, fmt.Sprint("site ", n%5), programs, false), v.Content.Bytes)
		}
	})
}

// A hand-in and a decision at once: either the decision is on what the hand-in
// brought, or it is refused; never on something in between.
func TestHandInAgainstDecision(t *testing.T) {
	people, names := persons(t, "S. Visor")
	each(t, func(t *testing.T, where string) {
		l, desk := open(t, where), open(t, where)
		for n := range 20 {
			id := fmt.Sprintf("v%02d", n)
			handIn(t, l, names, files("1", visitOf(t, id, "Dry Ridge", 2, false)))
			e := people[0].says(t, visitIn(t, l, id), review.SendBack, "Why?")
			var decided error
			var both sync.WaitGroup
			both.Go(func() { decided = desk.Review(ctx, e, names) })
			further := visitOf(t, id, "Dry Ridge", 3, true)
			both.Go(func() { handIn(t, l, names, files("2", further)) })
			both.Wait()
			v := visitIn(t, l, id)
			assert.Equal(t, further, v.Content.Bytes)
			assert.Equal(t, review.StateOf(true, v.Head, v.Said()), v.State)
			overtaken := (*Overtaken)(nil)
			if decided == nil {
				require.Len(t, v.Reviews, 1)
			} else {
				require.ErrorAs(t, decided, &overtaken)
				require.Empty(t, v.Reviews)
			}
		}
	})
}

// A wire passes on what goes between a program and PostgreSQL until it is cut, after
// so many bytes from the program.
type wire struct {
	net.Listener
	left atomic.Int64
}

func newWire(t *testing.T, to string, bytes int64) (*wire, string) {
	t.Helper()
	u, err := url.Parse(to)
	require.NoError(t, err)
	socket := filepath.Join(u.Query().Get("host"), ".s.PGSQL.5432")
	dir, err := os.MkdirTemp("", "wire") // short: the path of a socket may not be long
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(dir)) })
	listener, err := net.Listen("unix", filepath.Join(dir, ".s.PGSQL.5432"))
	require.NoError(t, err)
	w := &wire{Listener: listener}
	w.left.Store(bytes)
	go func() {
		for {
			from, err := listener.Accept()
			if err != nil {
				return
			}
			server, err := net.Dial("unix", socket)
			if err != nil {
				from.Close()
				return
			}
			go func() {
				io.Copy(from, server)
				from.Close()
			}()
			go func() {
				io.Copy(server, &cut{from, w})
				server.Close()
				from.Close()
			}()
		}
	}()
	t.Cleanup(func() { listener.Close() })
	q := u.Query()
	q.Set("host", dir)
	u.RawQuery = q.Encode()
	return w, u.String()
}

// cut reads until the wire is cut.
type cut struct {
	io.Reader
	wire *wire
}

func (c *cut) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	left := c.wire.left.Add(-int64(n))
	if left < 0 {
		return max(0, n+int(left)), io.ErrUnexpectedEOF
	}
	return n, err
}

// patience is how long a lost connection may take to show, on the slowest machine.
const patience = 2 * time.Minute

// The connection is lost somewhere in a hand-in. What was reported is in the
// ledger, nothing is there by half, and the same files again complete it.
func TestConnectionLost(t *testing.T) {
	where := place(t, "PostgreSQL")
	people, names := persons(t, "S. Visor")
	l := open(t, where)
	round, broken := 0, 0
	for bytes := int64(3000); bytes < 60_000; bytes += 2900 {
		round++
		var pairs []any
		for n := range 30 {
			pairs = append(pairs, fmt.Sprint(n), visitOf(t, fmt.Sprintf("r%d-v%02d", round, n), fmt.Sprint("round ", round), 3, true))
		}
		_, cutting := newWire(t, where, bytes)
		reported := map[string]bool{}
		limited, cancel := context.WithTimeout(ctx, patience)
		bad, err := Open(limited, cutting, clock)
		if err == nil {
			for i := 0; i < len(pairs) && err == nil; i += 10 {
				err = bad.HandIn(limited, files(pairs[i:i+10]...), names, func(o Outcome) { reported[o.ID] = true })
			}
			bad.Close() // its connection is broken
		}
		cancel()
		if err != nil {
			broken++
		}
		site := Filter{Site: fmt.Sprint("round ", round)}
		for r, err := range l.Rows(ctx, site, Oldest) {
			require.NoError(t, err)
			_, err = l.Visit(ctx, r.Digest.ID) // whole, with its journal
			require.NoError(t, err)
			delete(reported, r.Digest.ID)
		}
		assert.Empty(t, reported, "reported and not there")
		handIn(t, l, names, files(pairs...))
		n, err := l.Count(ctx, site, 100)
		require.NoError(t, err)
		assert.Equal(t, 30, n)
	}
	assert.Greater(t, broken, 5)

	// The same in a decision: it is there whole, or not at all.
	for bytes := int64(1500); bytes < 12_000; bytes += 700 {
		id := fmt.Sprintf("d%d", bytes)
		handIn(t, l, names, files("x"+record.Suffix, visitOf(t, id, "Dry Ridge", 2, true)))
		v := visitIn(t, l, id)
		e := people[0].says(t, v, review.Accept, "sound")
		_, cutting := newWire(t, where, bytes)
		limited, cancel := context.WithTimeout(ctx, patience)
		bad, err := Open(limited, cutting, clock)
		if err == nil {
			err = bad.Review(limited, e, names)
			bad.Close() // its connection is broken
		}
		cancel()
		after := visitIn(t, l, id)
		if err == nil {
			require.Len(t, after.Reviews, 1)
		}
		if len(after.Reviews) == 0 {
			require.Equal(t, v, after)
			require.NoError(t, l.Review(ctx, e, names))
			after = visitIn(t, l, id)
		}
		require.Equal(t, review.Accepted, after.State)
	}
}
