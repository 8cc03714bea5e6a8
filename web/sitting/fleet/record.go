//go:build fleet

package fleet

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// How long an append is tried again before the sitting gives up: a cluster that has lost the leading node of a stream
// chooses another within nine seconds. Where no node is reached at all, it is two.
const (
	patience  = 12 * time.Second
	gonePause = 2 * time.Second
)

// by is the header that tells who wrote a message: one opening of a record by one process.
const by = "Taillamp-By"

// record is a stream open for writing.
type record struct {
	k      *Keeper
	name   string
	me     string // unlike every other opening of any record
	header block.Header
	sum    register.Sum
	last   uint64        // entry
	at     atomic.Uint64 // messages safely kept
	text   []byte
	dead   error // why nothing can be written any more
}

func newRecord(k *Keeper, name string) *record { return &record{k: k, name: name, me: rand.Text()} }

// toItsEnd reads a stream through and stands behind its last message.
func (r *record) toItsEnd(ctx context.Context) error {
	n, _, err := r.k.length(ctx, r.name)
	if err != nil {
		return err
	}
	in, err := register.NewReader(r.k.text(ctx, r.name, n))
	if err != nil {
		return fmt.Errorf("open %q: %w", r.name, err)
	}
	for _, err := range in.Entries() {
		if err != nil {
			return fmt.Errorf("open %q: %w", r.name, err)
		}
	}
	if in.Tail() != register.Whole {
		return fmt.Errorf("open %q: %w", r.name, register.ErrDamaged)
	}
	r.header, r.sum, r.last = in.Header(), in.Sum(), in.Last()
	r.at.Store(n)
	return nil
}

func (r *record) Header() block.Header { return r.header }

// Cut is nothing: no message is ever half kept.
func (r *record) Cut() int64 { return 0 }

func (r *record) Entries(ctx context.Context, after uint64) iter.Seq2[block.Entry, error] {
	return r.k.entries(ctx, r.name, r.at.Load(), after)
}

// Append sends the lines of a batch as one message, so that all are kept or none.
func (r *record) Append(ctx context.Context, entries ...block.Entry) error {
	if r.dead != nil {
		return fmt.Errorf("%w: %w", sitting.ErrLostRecord, r.dead)
	}
	text, sum, last := r.text[:0], r.sum, r.last
	for _, e := range entries {
		if e.Seq != last+1 {
			return fmt.Errorf("%w: entry %d where %d belongs", sitting.ErrLostRecord, e.Seq, last+1)
		}
		last++
		var err error
		if text, sum, err = register.AppendEntry(text, sum, e); err != nil {
			r.dead = err
			return err
		}
	}
	if err := r.publish(ctx, text); err != nil {
		r.dead = err
		return err
	}
	r.text, r.sum, r.last = text, sum, last
	return nil
}

// publish has the engine keep a message next after the last one seen, or fails with ErrLostRecord. Where an answer is
// missing the message is sent again; if it was kept the first time, the engine refuses the second, and then the one that
// stands in its place tells whose it is.
func (r *record) publish(ctx context.Context, text []byte) error {
	at := r.at.Load()
	m := &nats.Msg{Subject: subjects + r.name, Data: text, Header: nats.Header{by: {r.me}}}
	ctx, done := context.WithTimeout(ctx, patience)
	defer done()
	var gone time.Time // since when no node is reached
	for {
		try, tried := context.WithTimeout(ctx, answerWithin)
		ack, err := r.k.e.js.PublishMsg(try, m, jetstream.WithExpectLastSequence(at), jetstream.WithRetryAttempts(0))
		tried()
		if err == nil && ack.Sequence == at+1 {
			r.at.Store(at + 1)
			return nil
		}
		if err == nil {
			return fmt.Errorf("%w: the engine kept it as %d where %d belongs", sitting.ErrLostRecord, ack.Sequence, at+1)
		}
		if refused(err) {
			switch whose := r.inPlace(ctx, at+1); whose {
			case r.me:
				r.at.Store(at + 1)
				return nil
			case "":
			default:
				return fmt.Errorf("%w: another process goes on with it", sitting.ErrLostRecord)
			}
		}
		switch {
		case r.k.e.Connected():
			gone = time.Time{}
		case gone.IsZero():
			gone = time.Now()
		case time.Since(gone) > gonePause:
			return fmt.Errorf("%w: the engine is not reached: %w", sitting.ErrLostRecord, err)
		}
		if again(ctx) != nil {
			return fmt.Errorf("%w: the engine does not keep it: %w", sitting.ErrLostRecord, err)
		}
	}
}

// refused tells whether the engine says that another message came before.
func refused(err error) bool {
	var api *jetstream.APIError
	return errors.As(err, &api) && api.ErrorCode == jetstream.JSErrCodeStreamWrongLastSequence
}

// inPlace is who wrote a message; empty: it is not there, or the engine does not say.
func (r *record) inPlace(ctx context.Context, at uint64) string {
	_, s, err := r.k.length(ctx, r.name)
	if err != nil {
		return ""
	}
	word, done := one(ctx)
	defer done()
	m, err := s.GetMsg(word, at)
	if err != nil {
		return ""
	}
	if whose := m.Header.Get(by); whose != "" {
		return whose
	}
	return "somebody"
}

// Close leaves the record to whoever wants it next.
func (r *record) Close() error {
	if r.dead == nil || !errors.Is(r.dead, fs.ErrClosed) {
		r.dead = fs.ErrClosed
	}
	r.k.mu.Lock()
	defer r.k.mu.Unlock()
	if r.k.open[r.name] == r {
		delete(r.k.open, r.name)
	}
	return nil
}
