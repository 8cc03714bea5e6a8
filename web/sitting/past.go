package sitting

import (
	"context"
	"iter"
	"slices"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// past is what has been recorded, for those who look back. The record is read from its keeper once and followed from there:
// whoever turns the pages of a long evening does not wait for the whole of it at every page. It is let go when nobody has
// looked back for a while, so that a thousand sittings at work hold none of it.
type past struct {
	mu      sync.Mutex
	entries []block.Entry // those read so far; what stands in it never changes
	states  []block.State // after each whole number of statesApart entries, as far as anybody has asked
	letGo   *time.Timer
}

const (
	pastKept    = 5 * time.Minute
	statesApart = 512
)

// Past is what is safely kept, in order, to be read only. With an error it is what could be read before it.
func (l *Live) Past(ctx context.Context) ([]block.Entry, error) {
	l.past.mu.Lock()
	defer l.past.mu.Unlock()
	return l.past.read(ctx, l.record)
}

// Entries yields what is safely kept, in order.
func (l *Live) Entries(ctx context.Context) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		entries, err := l.Past(ctx)
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
		if err != nil {
			yield(block.Entry{}, err)
		}
	}
}

// Stood is the state after an entry of the record; after entry 0 that of the opening.
func (l *Live) Stood(ctx context.Context, after uint64) (block.State, error) {
	p := l.past
	p.mu.Lock()
	defer p.mu.Unlock()
	entries, err := p.read(ctx, l.record)
	if err != nil {
		return block.State{}, err
	}
	entries = entries[:min(after, uint64(len(entries)))]
	if len(p.states) == 0 {
		p.states = append(p.states, l.rules.Opening(l.header.Began))
	}
	for len(p.states)*statesApart <= len(entries) {
		from := len(p.states) - 1
		s, err := register.ReplayFrom(l.rules, p.states[from], register.InOrder(entries[from*statesApart:][:statesApart]))
		if err != nil {
			return s, err
		}
		p.states = append(p.states, s)
	}
	from := len(entries) / statesApart
	return register.ReplayFrom(l.rules, p.states[from], register.InOrder(entries[from*statesApart:]))
}

// read adds to the entries what has been recorded since. With an error they are those before it.
func (p *past) read(ctx context.Context, record Record) ([]block.Entry, error) {
	if p.letGo == nil {
		p.letGo = time.AfterFunc(pastKept, p.forget)
	} else {
		p.letGo.Reset(pastKept)
	}
	for e, err := range record.Entries(ctx, uint64(len(p.entries))) {
		if err != nil {
			return slices.Clip(p.entries), err
		}
		p.entries = append(p.entries, e)
	}
	return slices.Clip(p.entries), nil
}

func (p *past) forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.entries, p.states = nil, nil
}
