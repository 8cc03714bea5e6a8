package sitting

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/sim"
)

// Live is one sitting while it goes on. A single goroutine owns it; every method may be called by anybody.
type Live struct {
	name     string
	program  string
	header   block.Header
	rules    *block.Rules
	record   Record
	lease    Lease
	lost     <-chan struct{} // closed when another process has the sitting; nil: none ever can
	clock    Clock
	zone     *time.Location
	district atomic.Pointer[register.Clock]
	differs  error // the record does not follow from today's rules: nothing is added to it

	asks  chan ask
	ended chan struct{} // closed when the goroutine is done; why may be read then
	why   error
	last  []*Watch // who watched at the end
	shown atomic.Pointer[shown]
	past  *past // its timer keeps it, and must not keep a sitting that has ended

	// What follows belongs to the goroutine.
	epoch    string
	seq      uint64      // of the last event stepped
	state    block.State // after it
	desks    []*boxDesk
	watches  []*Watch // those for whom bells ring first
	slow     []*Watch // of them, those to be cut off
	seats    map[string]*seatLog
	pressed  map[bellKey]time.Time // the last press of each key
	rang     []rang
	queue    []fact    // stepped, not yet handed to the disk
	saveBy   time.Time // when the first of them must be
	flight   []fact    // handed to the disk
	writing  bool      // the disk is at work
	untold   int       // of both: not yet told
	rungTo   uint64    // the last beat told under its number
	entries  []block.Entry
	toDisk   chan []block.Entry
	kept     chan error
	ending   error // how it has been asked to end
	endReply chan<- reply
	failed   error // how it ended
	alarm    wakeUp
	company  *sim.Company // works the boxes that nobody else works; nil: none does
	paused   time.Time    // since when the evening is paused; zero: it goes on
	phones   map[block.CircuitID]*phone
	faults   []failed // the instruments that have been made to fail
	ownerDid []block.Entry
	planned  []Planned // what the owner will have done in time
	begun    time.Time // when the sitting was begun, or gone on with
}

// shown is a snapshot.
type shown struct {
	at    Position
	state block.State
}

// bellKey is one end of a circuit.
type bellKey struct {
	circuit block.CircuitID
	by      block.BoxID
}

// wakeUp is the one alarm that a sitting has set.
type wakeUp struct {
	at    time.Time
	rings <-chan time.Time
	stop  func()
}

// How much may wait, and how long.
const (
	waiting   = 64                     // asks before the goroutine
	unsavedAt = 250 * time.Millisecond // the longest that a beat hangs in the air unwritten
)

// Name is the sitting's name.
func (l *Live) Name() string { return l.name }

// Program is the program's name and version, as it stands in the record.
func (l *Live) Program() string { return l.program }

// Header is the first line of the record.
func (l *Live) Header() block.Header { return l.header }

// Rules are those of the sitting.
func (l *Live) Rules() *block.Rules { return l.rules }

// Now is the time by the clock of the sitting.
func (l *Live) Now() time.Time { return l.clock.Now() }

// Alarm rings when the sitting's clock shows a time; see Clock.
func (l *Live) Alarm(at time.Time) (<-chan time.Time, func()) { return l.clock.Alarm(at) }

// District is the clock that the district's registers are kept by.
func (l *Live) District() register.Clock { return *l.district.Load() }

// Trouble tells why nothing more is recorded: ErrNotKept, ErrOver, ErrStopped, ErrBroken, or a register.DiffersError
// for a record that can only be read. It is nil while all is well.
func (l *Live) Trouble() error {
	select {
	case <-l.ended:
		return l.why
	default:
		return l.differs
	}
}

// Snapshot returns the newest state and its position. The value is never changed afterwards.
func (l *Live) Snapshot() (Position, block.State) {
	s := l.shown.Load()
	return s.at, s.state
}

// Present is the picture as of now for a seat that follows nothing, as a page is drawn from it. It can be had of a
// sitting that has ended, too.
func (l *Live) Present(ctx context.Context, s Seat) (*Present, error) {
	var p *Present
	look := func() { p = l.present(&Watch{seat: s}) }
	if err := l.run(ctx, look); err != nil {
		select {
		case <-l.ended: // the goroutine is gone and nothing changes any more
			look()
		default:
			return nil, err
		}
	}
	return p, nil
}

// Close stops the sitting without ending it: it can be resumed. Whoever watches is told ErrStopped.
func (l *Live) Close(ctx context.Context) error { return l.finish(ctx, ErrStopped) }

// End ends the sitting for good, with a close mark in its record. Whoever watches is told ErrOver.
func (l *Live) End(ctx context.Context) error { return l.finish(ctx, ErrOver) }

func (l *Live) finish(ctx context.Context, how error) error {
	done := make(chan reply, 1)
	if _, err := l.ask(ctx, ask{end: how, reply: done}, done); err != nil {
		select {
		case <-l.ended: // it ended by itself
			return nil
		default:
			return err
		}
	}
	select {
	case <-l.ended:
	case <-ctx.Done():
		return ctx.Err()
	}
	if l.why != how {
		return l.why
	}
	return nil
}

// farewell waits, when the sitting has ended, until those who watched it have been told, or ctx ends.
func (l *Live) farewell(ctx context.Context) {
	select {
	case <-l.ended:
	case <-ctx.Done():
		return
	}
	for _, w := range l.last {
		select {
		case <-w.left:
		case <-ctx.Done():
			return
		}
	}
}

// run has the goroutine do something between two acts.
func (l *Live) run(ctx context.Context, do func()) error {
	done := make(chan reply, 1)
	_, err := l.ask(ctx, ask{do: do, reply: done}, done)
	return err
}

// ask puts something before the goroutine and waits for what comes of it.
func (l *Live) ask(ctx context.Context, a ask, answer <-chan reply) (Answer, error) {
	select {
	case l.asks <- a:
	case <-l.ended:
		return Answer{}, l.why
	case <-ctx.Done():
		return Answer{}, ctx.Err()
	}
	select {
	case r := <-answer:
		return r.answer, r.err
	case <-l.ended:
		select {
		case r := <-answer: // it was the last that was done
			return r.answer, r.err
		default:
			return Answer{}, l.why
		}
	case <-ctx.Done():
		return Answer{}, ctx.Err()
	}
}

// work is the goroutine.
func (l *Live) work() {
	go l.keep()
	for l.failed == nil {
		l.round()
	}
	l.setAside()
	close(l.toDisk)
	for range l.kept { // the disk may be at work still
	}
	if err := l.letGo(); err != nil && l.failed == l.ending {
		l.failed = fmt.Errorf("%w: %w", ErrNotKept, err)
	}
	l.last = slices.Clone(l.watches)
	l.cutAll(l.failed)
	l.why = l.failed
	close(l.ended)
}

// letGo leaves the record to whoever wants it next.
func (l *Live) letGo() error {
	ctx, done := context.WithTimeout(context.Background(), goodbye)
	defer done()
	return errors.Join(l.record.Close(), l.lease.Release(ctx, l.name))
}

// round waits for one thing and does it. A fault in the program ends this sitting and no other.
func (l *Live) round() {
	defer func() {
		if r := recover(); r != nil {
			l.fail(fmt.Errorf("%w: %v", ErrBroken, r))
		}
	}()
	asks := l.asks
	if l.ending != nil { // nothing new is begun
		if asks = nil; !l.writing && l.untold == 0 {
			l.end()
			return
		}
	}
	l.setAlarm()
	select {
	case a := <-asks:
		l.overdue()
		l.take(a)
	case err := <-l.kept:
		l.wrote(err)
	case <-l.lost:
		l.fail(ErrLostRecord)
	case <-l.alarm.rings:
		l.alarm.at = time.Time{}
		l.overdue()
		if len(l.queue) > 0 && !l.saveBy.After(l.now()) {
			l.write()
		}
	}
}

// end writes what hangs in the air, and for good the mark that the end is the end.
func (l *Live) end() {
	if len(l.queue) > 0 {
		l.write()
		if l.wrote(<-l.kept); l.failed != nil {
			return
		}
	}
	if l.ending == ErrOver && l.differs == nil {
		if l.mark(block.Entry{Mark: block.Close}); l.failed != nil {
			return
		}
	}
	l.failed = l.ending
	l.endReply <- reply{}
}

// setAlarm has the clock ring when a code is at an end by quiet, or beats must be written.
func (l *Live) setAlarm() {
	at, due := l.rules.Due(l.state)
	if l.differs != nil {
		due = false
	}
	if len(l.queue) > 0 && !l.writing && (!due || l.saveBy.Before(at)) {
		at, due = l.saveBy, true
	}
	if l.companyWorks() {
		if next, ok := l.company.Due(); ok && (!due || next.Before(at)) {
			at, due = next, true
		}
	}
	if next, ok := l.nextPlanned(); ok && (!due || next.Due.Before(at)) {
		at, due = next.Due, true
	}
	if due && l.alarm.at.Equal(at) {
		return
	}
	l.setAside()
	if due {
		rings, stop := l.clock.Alarm(at)
		l.alarm = wakeUp{at: at, rings: rings, stop: stop}
	}
}

// setAside puts the alarm away.
func (l *Live) setAside() {
	if l.alarm.stop != nil {
		l.alarm.stop()
	}
	l.alarm = wakeUp{}
}

// now is the sitting's time: it never runs back.
func (l *Live) now() time.Time { return l.since(l.clock.Now()) }

// since is a time that has been, or the nearest at which something not recorded yet may still happen.
func (l *Live) since(t time.Time) time.Time {
	if t = l.stamp(t); t.Before(l.state.At()) {
		return l.state.At()
	}
	return t
}

// stamp is a time as the record has it: to the microsecond, in its zone.
func (l *Live) stamp(t time.Time) time.Time { return t.Round(0).Truncate(time.Microsecond).In(l.zone) }

// told is the position up to which everybody has been told, and the state there.
func (l *Live) told() shown { return *l.shown.Load() }

// said is the highest number that anybody was told, for news of which nothing is recorded: a beat may have rung since told.
func (l *Live) said() Position {
	at := l.told().at
	at.Seq = max(at.Seq, l.rungTo)
	return at
}

// show lets everybody have a state.
func (l *Live) show(seq uint64, s block.State) { l.shown.Store(&shown{Position{l.epoch, seq}, s}) }

// mark writes a line in which the record speaks of itself.
func (l *Live) mark(e block.Entry) {
	e.Seq, e.At = l.seq+1, l.now()
	if err := l.record.Append(context.Background(), e); err != nil {
		l.failed = fmt.Errorf("%w: %w", ErrNotKept, err)
		return
	}
	l.seq++
}
