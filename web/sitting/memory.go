package sitting

import (
	"context"
	"fmt"
	"iter"
	"slices"
	"sync"

	"taillamp/block"
)

// Memory keeps sittings for as long as the program runs: for tests and trials.
type Memory struct {
	mu   sync.Mutex
	kept map[string]*inMemory
}

// NewMemory returns a Keeper that keeps nothing beyond the program's end.
func NewMemory() *Memory { return &Memory{kept: make(map[string]*inMemory)} }

type inMemory struct {
	header  block.Header
	entries []block.Entry
	open    *memoryRecord
}

// Begin makes a record.
func (m *Memory) Begin(_ context.Context, name string, h block.Header) (Record, error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.kept[name] != nil {
		return nil, fmt.Errorf("%w: %q", ErrExists, name)
	}
	k := &inMemory{header: h}
	m.kept[name] = k
	return m.own(k), nil
}

// Resume opens a record at its end.
func (m *Memory) Resume(_ context.Context, name string) (Record, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k := m.kept[name]
	switch {
	case k == nil:
		return nil, fmt.Errorf("%w: %q", ErrNoSitting, name)
	case k.open != nil:
		return nil, fmt.Errorf("%w: %q", ErrInUse, name)
	}
	return m.own(k), nil
}

func (m *Memory) own(k *inMemory) *memoryRecord {
	k.open = &memoryRecord{m: m, k: k}
	return k.open
}

// Names lists the sittings kept, by name.
func (m *Memory) Names(context.Context) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var names []string
	for name := range m.kept {
		names = append(names, name)
	}
	slices.Sort(names)
	return names, nil
}

// Look tells in short what is kept under a name.
func (m *Memory) Look(_ context.Context, name string) (Glance, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k := m.kept[name]
	if k == nil {
		return Glance{}, fmt.Errorf("%w: %q", ErrNoSitting, name)
	}
	n := len(k.entries)
	return Glance{Name: name, Began: k.header.Began, Over: n > 0 && k.entries[n-1].Mark == block.Close}, nil
}

type memoryRecord struct {
	m *Memory
	k *inMemory
}

func (r *memoryRecord) Header() block.Header { return r.k.header }

func (r *memoryRecord) Cut() int64 { return 0 }

func (r *memoryRecord) Entries(ctx context.Context, after uint64) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		r.m.mu.Lock()
		kept := r.k.entries
		r.m.mu.Unlock()
		for _, e := range kept {
			if err := ctx.Err(); err != nil {
				yield(block.Entry{}, err)
				return
			}
			if e.Seq > after && !yield(e, nil) {
				return
			}
		}
	}
}

func (r *memoryRecord) Append(_ context.Context, entries ...block.Entry) error {
	r.m.mu.Lock()
	defer r.m.mu.Unlock()
	if r.k.open != r {
		return ErrLostRecord
	}
	if err := inOrder(uint64(len(r.k.entries)), entries); err != nil {
		return err
	}
	r.k.entries = append(r.k.entries, entries...)
	return nil
}

func (r *memoryRecord) Close() error {
	r.m.mu.Lock()
	defer r.m.mu.Unlock()
	if r.k.open == r {
		r.k.open = nil
	}
	return nil
}

// inOrder tells whether entries are numbered on from the last one kept.
func inOrder(last uint64, entries []block.Entry) error {
	for _, e := range entries {
		if e.Seq != last+1 {
			return fmt.Errorf("%w: entry %d where %d belongs", ErrLostRecord, e.Seq, last+1)
		}
		last++
	}
	return nil
}
