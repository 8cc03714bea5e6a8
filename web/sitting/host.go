package sitting

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// A Host holds the sittings of one process.
type Host struct {
	keeper  Keeper
	lease   Lease
	clock   Clock
	program string

	mu   sync.Mutex
	open []*Live
}

// NewHost makes a host. program is the name and version that stands in every record it opens.
func NewHost(k Keeper, c Clock, program string) *Host {
	return &Host{keeper: k, lease: alone{}, clock: c, program: program}
}

// Under has a host share its sittings with other processes: it opens only those that the lease gives it. It must be
// called before the first is opened, and gives the host back.
func (h *Host) Under(l Lease) *Host {
	h.lease = l
	return h
}

// Open begins a sitting. Of the header the texts must be there; what it leaves out is filled in: the sitting's name,
// when it began, the program.
func (h *Host) Open(ctx context.Context, name string, first block.Header) (*Live, error) {
	first.Format, first.Sitting = register.Format, name
	if first.Began.IsZero() {
		first.Began = h.clock.Now().Round(0).Truncate(time.Millisecond).In(zoneOf(first))
	}
	if first.Program == "" {
		first.Program = h.program
	}
	rules, err := first.Rules()
	if err != nil {
		return nil, fmt.Errorf("begin sitting %q: %w", name, err)
	}
	lost, err := h.hold(ctx, name)
	if err != nil {
		return nil, fmt.Errorf("begin sitting %q: %w", name, err)
	}
	record, err := h.keeper.Begin(ctx, name, first)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("begin sitting %q: %w", name, err), h.lease.Release(ctx, name))
	}
	return h.start(ctx, name, rules, record, lost)
}

// hold takes the lease of a sitting.
func (h *Host) hold(ctx context.Context, name string) (lost <-chan struct{}, err error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	lost, owner, err := h.lease.Hold(ctx, name)
	if err != nil && owner != "" {
		err = fmt.Errorf("%w: %s has it", err, owner)
	}
	return lost, err
}

// Resume goes on with a sitting. ErrOver: it was ended. If its record does not follow from today's rules it can be
// read and watched, but nothing is added: Live.Trouble then gives a register.DiffersError.
func (h *Host) Resume(ctx context.Context, name string) (*Live, error) {
	lost, err := h.hold(ctx, name)
	if err != nil {
		return nil, fmt.Errorf("go on with sitting %q: %w", name, err)
	}
	record, err := h.keeper.Resume(ctx, name)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("go on with sitting %q: %w", name, err), h.lease.Release(ctx, name))
	}
	rules, err := record.Header().Rules()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("go on with sitting %q: %w", name, err), record.Close(), h.lease.Release(ctx, name))
	}
	return h.start(ctx, name, rules, record, lost)
}

// start brings a record to life. Where it cannot, it lets go of it.
func (h *Host) start(ctx context.Context, name string, rules *block.Rules, record Record, lost <-chan struct{}) (*Live, error) {
	began := record.Header().Began
	l := &Live{
		name: name, program: h.program, header: record.Header(), rules: rules, record: record, clock: h.clock, lease: h.lease, lost: lost,
		zone: zoneOf(record.Header()),
		past: new(past), asks: make(chan ask, waiting), ended: make(chan struct{}),
		toDisk: make(chan []block.Entry, 1), kept: make(chan error, 1),
		state: rules.Opening(began), seats: make(map[string]*seatLog), pressed: make(map[bellKey]time.Time), phones: make(map[block.CircuitID]*phone),
	}
	district := register.ClockOf(rules.Layout(), began)
	l.district.Store(&district)
	if err := l.recall(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("go on with sitting %q: %w", name, err), l.letGo())
	}
	l.epoch = newEpoch()
	l.begun = l.now()
	if l.differs == nil {
		if n := record.Cut(); n > 0 {
			l.mark(block.Entry{Mark: block.Cut, Bytes: n})
		}
		l.mark(block.Entry{Mark: block.Open, Epoch: l.epoch, Program: h.program})
		if l.failed != nil {
			return nil, errors.Join(fmt.Errorf("open sitting %q: %w", name, l.failed), l.letGo())
		}
	}
	l.show(l.seq, l.state)
	go l.work()
	h.mu.Lock()
	defer h.mu.Unlock()
	h.open = append(h.open, l)
	return l, nil
}

// recall steps the record again and remembers what it says of seats, keys and books.
func (l *Live) recall(ctx context.Context) error {
	l.desks = desks(l.rules, l.header.Began)
	over := false
	read := func(yield func(block.Entry, error) bool) {
		for e, err := range l.Entries(ctx) {
			if err == nil {
				over = e.Mark == block.Close
				l.seq = e.Seq
				l.took(e)
				l.book(e)
			}
			if !yield(e, err) {
				return
			}
		}
	}
	state, err := register.Replay(l.rules, l.header.Began, read)
	l.state = state
	var differs *register.DiffersError
	if errors.As(err, &differs) {
		l.differs = differs
		return l.reread(ctx)
	}
	if err == nil && over {
		return ErrOver
	}
	return err
}

// reread fills the books of a record that can only be read.
func (l *Live) reread(ctx context.Context) error {
	l.desks = desks(l.rules, l.header.Began)
	for e, err := range l.Entries(ctx) {
		if err != nil {
			return err
		}
		l.seq = e.Seq
		l.book(e)
	}
	return nil
}

// zoneOf is the zone that a record's times are written in.
func zoneOf(h block.Header) *time.Location {
	if zone, err := time.LoadLocation(h.Zone); err == nil {
		return zone
	}
	return time.UTC
}

// Find returns a sitting that this host holds.
func (h *Host) Find(name string) (*Live, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	at := slices.IndexFunc(h.open, func(l *Live) bool { return l.name == name })
	if at < 0 {
		return nil, false
	}
	return h.open[at], true
}

// Kept tells in short of every sitting that is kept, the newest first. What cannot be read is left out and named in
// the error; the rest is good all the same.
func (h *Host) Kept(ctx context.Context) ([]Glance, error) {
	names, err := h.keeper.Names(ctx)
	if err != nil {
		return nil, fmt.Errorf("list the sittings: %w", err)
	}
	var all []Glance
	var faults []error
	for _, name := range names {
		g, err := h.keeper.Look(ctx, name)
		if err != nil {
			faults = append(faults, fmt.Errorf("sitting %q: %w", name, err))
			continue
		}
		all = append(all, g)
	}
	slices.SortStableFunc(all, func(a, b Glance) int { return b.Began.Compare(a.Began) })
	return all, errors.Join(faults...)
}

// goodbye is how long those who watch have to pass on that a sitting stops.
const goodbye = time.Second

// Close stops every sitting and gives those who watch a moment to say so to their people. Each can be resumed.
func (h *Host) Close(ctx context.Context) error {
	h.mu.Lock()
	open := h.open
	h.open = nil
	h.mu.Unlock()
	var faults []error
	for _, l := range open {
		if err := l.Close(ctx); err != nil {
			faults = append(faults, fmt.Errorf("close sitting %q: %w", l.name, err))
		}
	}
	ctx, done := context.WithTimeout(ctx, goodbye)
	defer done()
	for _, l := range open {
		l.farewell(ctx)
	}
	return errors.Join(faults...)
}
