//go:build fleet

package fleet

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"sync"

	"github.com/nats-io/nats.go/jetstream"
	"github.com/synadia-io/orbit.go/jetstreamext"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// Keeper keeps sittings in an engine, each as one stream. A message is a batch of the record's own lines, so that all of
// them end to end are the file that a folder would have.
type Keeper struct {
	e *Engine

	mu   sync.Mutex
	open map[string]*record
}

// NewKeeper keeps sittings in an engine.
func NewKeeper(e *Engine) *Keeper { return &Keeper{e: e, open: make(map[string]*record)} }

// The names that the engine knows a sitting by.
const (
	streams  = "TAILLAMP-"
	subjects = "taillamp.sitting."
)

// Begin makes the stream, with the header as its first message.
func (k *Keeper) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	text, sum, err := register.AppendHeader(nil, h)
	if err != nil {
		return nil, err
	}
	r, err := k.begin(ctx, name, text)
	if err != nil {
		return nil, err
	}
	r.header, r.sum = h, sum
	return r, nil
}

// begin makes a stream with its first message and owns it.
func (k *Keeper) begin(ctx context.Context, name string, first []byte) (*record, error) {
	if err := sitting.CheckName(name); err != nil {
		return nil, err
	}
	r, err := k.own(name)
	if err != nil {
		return nil, fmt.Errorf("%w: %q", sitting.ErrExists, name)
	}
	word, done := context.WithTimeout(ctx, patience)
	defer done()
	_, err = k.e.js.CreateStream(word, jetstream.StreamConfig{Name: streams + name, Subjects: []string{subjects + name},
		Storage: jetstream.FileStorage, Replicas: k.e.replicas, DenyDelete: true, DenyPurge: true, AllowDirect: true})
	if err == nil {
		err = r.publish(ctx, first)
	}
	if errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) || errors.Is(err, sitting.ErrLostRecord) && k.begun(ctx, name) {
		err = fmt.Errorf("%w: %q", sitting.ErrExists, name)
	}
	if err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// begun tells whether a stream has its header.
func (k *Keeper) begun(ctx context.Context, name string) bool {
	n, _, err := k.length(ctx, name)
	return err == nil && n > 0
}

// own makes a record the only one of its name in this process.
func (k *Keeper) own(name string) (*record, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.open[name] != nil {
		return nil, fmt.Errorf("%w: %q", sitting.ErrInUse, name)
	}
	r := newRecord(k, name)
	k.open[name] = r
	return r, nil
}

// Resume opens a stream at its end.
func (k *Keeper) Resume(ctx context.Context, name string) (sitting.Record, error) {
	if err := sitting.CheckName(name); err != nil {
		return nil, err
	}
	r, err := k.own(name)
	if err != nil {
		return nil, err
	}
	if err := r.toItsEnd(ctx); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// Names lists the sittings kept, by name.
func (k *Keeper) Names(ctx context.Context) ([]string, error) {
	all := k.e.js.StreamNames(ctx, jetstream.WithStreamListSubject(subjects+"*"))
	var names []string
	for stream := range all.Name() {
		if name, ours := strings.CutPrefix(stream, streams); ours {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return slices.Compact(names), all.Err()
}

// length is how many messages a sitting has. ErrNoSitting: there is none, or not even its header.
func (k *Keeper) length(ctx context.Context, name string) (uint64, jetstream.Stream, error) {
	if err := sitting.CheckName(name); err != nil {
		return 0, nil, err
	}
	word, done := one(ctx)
	defer done()
	s, err := k.e.js.Stream(word, streams+name)
	if errors.Is(err, jetstream.ErrStreamNotFound) || err == nil && s.CachedInfo().State.LastSeq == 0 {
		return 0, nil, fmt.Errorf("%w: %q", sitting.ErrNoSitting, name)
	}
	if err != nil {
		return 0, nil, fmt.Errorf("ask the engine for %q: %w", name, err)
	}
	return s.CachedInfo().State.LastSeq, s, nil
}

// Look reads the first message and the last.
func (k *Keeper) Look(ctx context.Context, name string) (sitting.Glance, error) {
	n, s, err := k.length(ctx, name)
	if err != nil {
		return sitting.Glance{}, err
	}
	word, done := one(ctx)
	defer done()
	first, err := s.GetMsg(word, 1)
	if err != nil {
		return sitting.Glance{}, err
	}
	last, err := s.GetMsg(word, n)
	if err != nil {
		return sitting.Glance{}, err
	}
	in, err := register.NewReader(bytes.NewReader(first.Data))
	if err != nil {
		return sitting.Glance{}, err
	}
	return sitting.Glance{Name: name, Began: in.Header().Began, Over: n > 1 && over(last.Data)}, nil
}

// over tells whether a batch of lines ends with the mark that the end is the end.
func over(lines []byte) bool {
	lines = bytes.TrimSuffix(lines, []byte("\n"))
	var e block.Entry
	return json.Unmarshal(lines[bytes.LastIndexByte(lines, '\n')+1:], &e) == nil && e.Mark == block.Close
}

// Read gives what is kept under a name, to be read from its beginning as often as one likes.
func (k *Keeper) Read(ctx context.Context, name string) (block.Header, iter.Seq2[block.Entry, error], error) {
	n, s, err := k.length(ctx, name)
	if err != nil {
		return block.Header{}, nil, err
	}
	word, done := one(ctx)
	defer done()
	first, err := s.GetMsg(word, 1)
	if err != nil {
		return block.Header{}, nil, err
	}
	in, err := register.NewReader(bytes.NewReader(first.Data))
	if err != nil {
		return block.Header{}, nil, err
	}
	return in.Header(), k.entries(ctx, name, n, 0), nil
}

// entries yields those behind a number, out of so many messages.
func (k *Keeper) entries(ctx context.Context, name string, messages, after uint64) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		in, err := register.NewReader(k.text(ctx, name, messages))
		if err != nil {
			yield(block.Entry{}, err)
			return
		}
		for e, err := range in.Entries() {
			if err != nil {
				yield(block.Entry{}, err)
				return
			}
			if e.Seq > after && !yield(e, nil) {
				return
			}
		}
		if in.Tail() != register.Whole { // no message is ever half kept
			yield(block.Entry{}, &register.DamagedError{Line: int(in.Last()) + 2, Seq: in.Last(), What: "does not follow from the line before it"})
		}
	}
}

// text is the file that a sitting would be, up to so many messages.
func (k *Keeper) text(ctx context.Context, name string, messages uint64) io.Reader {
	return &tape{ctx: ctx, e: k.e, stream: streams + name, next: 1, last: messages}
}

// tape reads a stream's messages end to end. It asks for them by their numbers, some hundreds at a time, of whichever
// node answers: what it has of a number is what every other has.
type tape struct {
	ctx        context.Context
	e          *Engine
	stream     string
	next, last uint64
	text       []byte // read and not yet given
	given      int
}

// atATime is how many messages are asked for at once, and about how many bytes.
const (
	atATime    = 500
	bytesATime = 1 << 20
)

func (t *tape) Read(p []byte) (int, error) {
	if t.given == len(t.text) {
		if t.next > t.last {
			return 0, io.EOF
		}
		if err := t.some(); err != nil {
			return 0, fmt.Errorf("read from the engine: %w", err)
		}
	}
	n := copy(p, t.text[t.given:])
	t.given += n
	return n, nil
}

// some reads some messages more. A node that lags behind has none yet, and one that is dying does not answer: they are
// asked for again.
func (t *tape) some() error {
	t.text, t.given = t.text[:0], 0
	ctx, done := context.WithTimeout(t.ctx, patience)
	defer done()
	for {
		word, said := one(ctx)
		err := t.batch(word)
		said()
		if len(t.text) > 0 {
			return nil
		}
		if again(ctx) != nil {
			return errors.Join(ctx.Err(), err)
		}
	}
}

func (t *tape) batch(ctx context.Context) error {
	all, err := jetstreamext.GetBatch(ctx, t.e.js, t.stream, int(min(atATime, t.last-t.next+1)), jetstreamext.GetBatchSeq(t.next), jetstreamext.GetBatchMaxBytes(bytesATime))
	if err != nil {
		return err
	}
	for m, err := range all {
		if err != nil {
			return err
		}
		if m.Sequence != t.next {
			return fmt.Errorf("message %d came where %d belongs", m.Sequence, t.next)
		}
		t.text, t.next = append(t.text, m.Data...), t.next+1
	}
	return nil
}

// Text is the file that a sitting would be in a folder, byte for byte.
func (k *Keeper) Text(ctx context.Context, name string) ([]byte, error) {
	n, _, err := k.length(ctx, name)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(k.text(ctx, name, n))
}
