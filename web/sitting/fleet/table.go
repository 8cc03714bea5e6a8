//go:build fleet

package fleet

import (
	"context"
	"maps"
	"sync"
	"time"

	"github.com/nats-io/nats.go/jetstream"
)

// table is what a bucket holds, as far as this process has heard.
type table struct {
	kv      jetstream.KeyValue
	changed func() // called without the lock, by the one goroutine that follows
	anew    chan struct{}
	whole   chan struct{} // closed when the bucket has been read once
	once    sync.Once

	mu   sync.Mutex
	rows map[string]row
}

// row is one key.
type row struct {
	value    string
	revision uint64
	seen     time.Time // when this revision was heard of first, by this process's own clock
}

func newTable(kv jetstream.KeyValue, changed func()) *table {
	return &table{kv: kv, changed: changed, anew: make(chan struct{}, 1), whole: make(chan struct{}), rows: make(map[string]row)}
}

// anewEvery is how often a bucket is read afresh, whatever was missed.
const anewEvery = 20 * time.Second

// refresh has the bucket read afresh now.
func (t *table) refresh() {
	select {
	case t.anew <- struct{}{}:
	default:
	}
}

// follow keeps the table up to date until ctx ends.
func (t *table) follow(ctx context.Context) {
	for ctx.Err() == nil {
		w, err := t.kv.WatchAll(ctx)
		if err == nil {
			t.read(ctx, w)
			_ = w.Stop() // it may have gone with the connection
			continue
		}
		_ = again(ctx) // follow's own condition tells
	}
}

// read follows one watcher until it ends or it is time to begin afresh.
func (t *table) read(ctx context.Context, w jetstream.KeyWatcher) {
	fresh := make(map[string]row) // until the bucket has been read whole
	whole := false
	late := time.NewTimer(anewEvery)
	defer late.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-late.C:
			return
		case <-t.anew:
			return
		case e, open := <-w.Updates():
			if !open {
				return
			}
			t.mu.Lock()
			switch {
			case e == nil:
				t.rows, whole = fresh, true
			case whole:
				t.take(t.rows, e)
			default:
				t.take(fresh, e)
			}
			t.mu.Unlock()
			if whole {
				t.once.Do(func() { close(t.whole) })
				t.changed()
			}
		}
	}
}

// take notes one entry in rows.
func (t *table) take(rows map[string]row, e jetstream.KeyValueEntry) {
	if e.Operation() != jetstream.KeyValuePut {
		delete(rows, e.Key())
		return
	}
	r := row{string(e.Value()), e.Revision(), time.Now()}
	if was := t.rows[e.Key()]; was.revision == r.revision {
		r.seen = was.seen
	}
	rows[e.Key()] = r
}

// all is a copy of the table.
func (t *table) all() map[string]row {
	t.mu.Lock()
	defer t.mu.Unlock()
	return maps.Clone(t.rows)
}

// get is one row.
func (t *table) get(key string) (row, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	r, is := t.rows[key]
	return r, is
}

// put notes what this process has written itself, before it hears of it.
func (t *table) put(key, value string, revision uint64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.rows[key].revision < revision {
		t.rows[key] = row{value, revision, time.Now()}
	}
}
