package ledger

import (
	"context"
	"encoding/json"
	"errors"
	"iter"
	"runtime"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/signature"
)

const (
	// batch is the most files that are put away in one transaction: each costs one
	// wait for the disk.
	batch = 512
	// atOnce is how much of files is in memory at a time [bytes].
	atOnce = 2 * record.MaxSize
	// maxLater is how much of reviews waits for the visits of the same hand-in [bytes].
	maxLater = 8 << 20
)

// HandIn imports files: journals, reviews, results of practice. Any order will
// do, and any file may come any number of times. What does not verify is set
// aside with the reason; what has nothing to do with visits is left alone.
//
// Several files are put away together, all of them or none. The outcome of each is
// reported after it is on the disk, so what was not reported can be handed in
// again. An error means that the ledger could not be written to any more.
func (l *Ledger) HandIn(ctx context.Context, sources iter.Seq2[Source, error], names signature.Names, report func(Outcome)) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	ready := l.unpackAll(ctx, sources, l.now())
	put := func(group []opened) error {
		outcomes, err := l.putAway(ctx, group, names)
		if err != nil {
			return err
		}
		for i, o := range group {
			o.done()
			report(outcomes[i])
		}
		return nil
	}
	var later []opened // reviews come after the visits that they are about
	var size int64     // of them
	for group := range groups(ready) {
		var visits []opened
		for _, o := range group {
			if o.reviews == nil {
				visits = append(visits, o)
				continue
			}
			o.done()
			later, size = append(later, o), size+o.size
		}
		if err := put(visits); err != nil {
			return err
		}
		if len(later) >= batch || size > maxLater {
			// The visits of the last ones may still be being read.
			half := len(later) / 2
			if err := put(later[:half]); err != nil {
				return err
			}
			later, size = slices.Clone(later[half:]), size/2
		}
	}
	return errors.Join(put(later), ctx.Err())
}

// groups are what is ready, as much of it at a time as is.
func groups(ready <-chan opened) iter.Seq[[]opened] {
	return func(yield func([]opened) bool) {
		for first := range ready {
			group := []opened{first}
			for more := true; more && len(group) < batch; {
				select {
				case o, ok := <-ready:
					if more = ok; ok {
						group = append(group, o)
					}
				default: // the next ones are not read yet: better to put these away
					more = false
				}
			}
			if !yield(group) {
				return
			}
		}
	}
}

// opened is a source after reading.
type opened struct {
	*parcel
	err  error  // it could not be read
	done func() // gives back its room in memory; once more does nothing
}

// unpackAll reads the sources on all processors, no further ahead than memory
// allows. It ends when ctx does.
func (l *Ledger) unpackAll(ctx context.Context, sources iter.Seq2[Source, error], now time.Time) <-chan opened {
	type found struct {
		Source
		err error
	}
	all, ready := make(chan found), make(chan opened, batch)
	go func() {
		defer close(all)
		for s, err := range sources {
			select {
			case all <- found{s, err}:
			case <-ctx.Done():
				return
			}
		}
	}()
	room := semaphore.NewWeighted(atOnce)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for f := range all {
				o := opened{err: f.err, done: func() {}}
				if f.err == nil {
					o.parcel, o.done, o.err = l.unpackWithin(ctx, room, f.Source, now)
				}
				if o.parcel == nil {
					o.parcel = &parcel{name: f.Name}
				}
				select {
				case ready <- o:
				case <-ctx.Done():
					return
				}
			}
		})
	}
	go func() {
		workers.Wait()
		close(ready)
	}()
	return ready
}

// unpackWithin takes its room in memory before it reads, and gives back at once
// what the file does not need.
func (l *Ledger) unpackWithin(ctx context.Context, room *semaphore.Weighted, s Source, now time.Time) (p *parcel, done func(), err error) {
	const most = record.MaxSize / 2 // so that several can be read at a time
	if err := room.Acquire(ctx, most); err != nil {
		return nil, func() {}, err
	}
	p, err = l.unpack(s, now)
	keep := int64(0)
	if p != nil {
		keep = min(p.size, most)
	}
	room.Release(most - keep)
	return p, sync.OnceFunc(func() { room.Release(keep) }), err
}

// putAway writes a group of files in one transaction and says what became of each.
func (l *Ledger) putAway(ctx context.Context, group []opened, names signature.Names) (outcomes []Outcome, err error) {
	if len(group) == 0 {
		return nil, nil
	}
	err = l.inTx(ctx, func(w *work) error {
		outcomes = make([]Outcome, len(group))
		for _, i := range inOrder(group) {
			o := group[i]
			if o.err != nil {
				outcomes[i] = Outcome{Name: o.name, Fate: Unread, Reason: o.err.Error()}
				continue
			}
			if outcomes[i], err = w.put(o.parcel, names); err != nil {
				return err
			}
		}
		return nil
	})
	return outcomes, err
}

// digest is what the lists say of a journal, and the same as JSON.
func (l *Ledger) digest(c record.Content, now time.Time) (Digest, string, error) {
	d := digestOf(c, now)
	text, err := json.Marshal(d)
	return d, string(text), err
}
