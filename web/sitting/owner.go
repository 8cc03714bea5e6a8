package sitting

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/sim"
)

// ownerSeat is the name under which the record has what the owner did. No tablet's seat is called so: theirs begin with
// the box and end with letters drawn from a ticket.
const ownerSeat = "owner"

// freedWords stand in the book of a box that the owner has freed.
const freedWords = "freed by the owner"

// simulatedWords stand in the book of a box in which the owner has put a simulated signaller.
const simulatedWords = "simulated signaller, by the owner"

// ownerRecalls is how many of the owner's own acts an Oversight tells.
const ownerRecalls = 30

// NewKey draws a key that nobody can guess: four groups of five letters, some 92 bits.
func NewKey() string {
	var k strings.Builder
	for n := range 20 {
		if n > 0 && n%5 == 0 {
			k.WriteByte('-')
		}
		k.WriteByte(pick(ticketLetters))
	}
	return k.String()
}

// Oversight is the whole line as its owner sees it.
type Oversight struct {
	At        time.Time
	Paused    time.Time // since when the evening is paused; zero: it goes on
	Simulates bool      // simulated signallers are employed and simulated trains run
	Boxes     []Overseen
	Did       []block.Entry     // what the owner did, the newest first
	Planned   []Planned         // what he will have done in time, the next first
	Awaited   []block.Happening // what he has ordered and what no train has come for yet
}

// Overseen is one box as the owner sees it.
type Overseen struct {
	Staffing
	Wire   Wire
	Asks   *Asking      // somebody who asks for the box
	Silent time.Time    // since when its tablet is off the wire
	View   block.View   // what its signaller sees
	Fitted []Instrument // the real instruments that it has had on the wire
	Failed []Failure    // which of its instruments have been made to fail, whether or not anybody has found out
	Yard   []string     // what a simulated signaller with roads to fill waits for, in words
}

// Wire is how the tablet of a box stands with the program.
type Wire string

// What the tablet of a box may be.
const (
	NoTablet  Wire = ""       // nobody works the box at a tablet
	OnWire    Wire = "on"     // connected
	OffWire   Wire = "silent" // it was connected and is not now
	NeverCame Wire = "never"  // it has the box by the record and has not been seen since the program started
)

// Failure is an instrument that has been made to fail.
type Failure struct {
	Circuit block.CircuitID
	Where   block.Place
}

// failed is one failure, of one line of its circuit or of all.
type failed struct {
	Failure
	section block.SectionID // empty: all
}

// Oversee tells how the whole line stands, boxes in layout order.
func (l *Live) Oversee(ctx context.Context) (*Oversight, error) {
	var o *Oversight
	look := func() { o = l.oversight() }
	if err := l.run(ctx, look); err != nil {
		select {
		case <-l.ended: // the goroutine is gone and nothing changes any more
			look()
		default:
			return nil, err
		}
	}
	return o, nil
}

func (l *Live) oversight() *Oversight {
	told := l.told()
	o := &Oversight{At: l.now(), Paused: l.paused, Simulates: l.company != nil}
	staff := l.staffing(told.state)
	for i, d := range l.desks {
		b := Overseen{Staffing: staff[i], Wire: d.wire(), Asks: l.askerOf(d), Silent: d.left, View: l.rules.View(told.state, d.id),
			Fitted: slices.Clone(d.fitted)}
		for _, f := range l.faults {
			if d.hears[f.Circuit] && !slices.Contains(b.Failed, f.Failure) {
				b.Failed = append(b.Failed, f.Failure)
			}
		}
		if l.simulated(d.id) {
			b.Yard = l.company.Waits(d.id)
		}
		o.Boxes = append(o.Boxes, b)
	}
	o.Planned = l.plannedNow()
	if l.company != nil {
		o.Awaited = l.company.Awaited()
	}
	for _, e := range slices.Backward(l.ownerDid) {
		o.Did = append(o.Did, e)
	}
	return o
}

func (d *boxDesk) wire() Wire {
	switch {
	case d.holder == "":
		return NoTablet
	case d.at > 0:
		return OnWire
	case !d.seen || d.left.IsZero():
		return NeverCame
	}
	return OffWire
}

// Free takes a box from whoever works it, a person or a simulated signaller: it stands empty until somebody takes duty
// there. His tablet is told ErrFreed and its ticket is good for nothing. ErrAsItIs: nobody is there.
func (l *Live) Free(ctx context.Context, box block.BoxID) error {
	return l.owner(ctx, func() error {
		if l.desk(box) == nil {
			return block.ErrNoSuchBox
		}
		if !l.rules.View(l.state, box).OnDuty {
			return ErrAsItIs
		}
		if err := l.ownerDoes(block.Event{Do: block.Duty, Off: true, By: box, Words: freedWords}); err != nil {
			return err
		}
		if l.company != nil {
			l.company.Leaves(box)
		}
		l.enqueue(fact{do: func() { l.sendAway(box, ErrFreed) }}) // once the record has it
		return nil
	})
}

// sendAway ends the watching from the working seats of a box that is no longer theirs.
func (l *Live) sendAway(box block.BoxID, why error) {
	for _, w := range slices.Clone(l.watches) {
		if w.seat.As == Work && w.seat.Box == box && l.desk(box).holder != w.seat.name() {
			l.cut(w, why)
		}
	}
}

// Simulate puts a simulated signaller in a box. With the first of them simulated trains begin to run, drawn from the
// seed. A TakenError: somebody at a tablet has the box. ErrAsItIs: a simulated signaller is there already, or the box is
// switched out.
func (l *Live) Simulate(ctx context.Context, box block.BoxID, seed uint64) error {
	entries, err := l.recorded(ctx)
	if err != nil {
		return err
	}
	return l.owner(ctx, func() error { return l.simulate(box, seed, entries) })
}

func (l *Live) simulate(box block.BoxID, seed uint64, entries []block.Entry) error {
	d := l.desk(box)
	if d == nil {
		return block.ErrNoSuchBox
	}
	if d.taken(l.now()) {
		return &TakenError{Who: d.who}
	}
	v := l.rules.View(l.state, box)
	if l.simulated(box) && v.OnDuty || !v.Open {
		return ErrAsItIs
	}
	if v.OnDuty { // somebody of whom no tablet knows
		if err := l.ownerDoes(block.Event{Do: block.Duty, Off: true, By: box, Words: "relieved"}); err != nil {
			return err
		}
	}
	if err := l.ownerDoes(block.Event{Do: block.Duty, By: box, Words: simulatedWords}); err != nil {
		return err
	}
	if l.company != nil {
		l.company.Enters(box)
		return nil
	}
	var people []block.BoxID
	for _, other := range l.desks {
		if other.id != box {
			people = append(people, other.id)
		}
	}
	return l.employ(sim.Options{Seed: seed}, people, entries)
}

// Fail makes the bell or the needles of a circuit fail, or mends them. The signallers see only what they would see.
// ErrAsItIs: it is so already.
func (l *Live) Fail(ctx context.Context, f Failure, mended bool) error {
	return l.owner(ctx, func() error { return l.fails(f, mended) })
}

func (l *Live) fails(f Failure, mended bool) error {
	if f.Where != block.AtBell && f.Where != block.AtNeedle && f.Where != block.AtPhone {
		return block.ErrNoInstrument
	}
	is := slices.ContainsFunc(l.faults, func(x failed) bool { return x.Failure == f })
	if is != mended {
		return ErrAsItIs
	}
	return l.ownerDoes(block.Event{Do: block.Fault, Circuit: f.Circuit, Where: f.Where, Off: mended})
}

// Pause pauses the evening, so that no act of a signaller is taken, or lets it go on as it stood. ErrAsItIs: it is so
// already.
func (l *Live) Pause(ctx context.Context, paused bool) error {
	return l.pace(ctx, block.Event{Do: block.Pace, Off: paused})
}

// GoOn lets a paused evening go on with its scaled clock at that speed, in district minutes a real minute: trains run
// faster or slower from then on, people and bells never. block.ErrNoSense: it has no scaled clock, or not such a speed.
func (l *Live) GoOn(ctx context.Context, speed float64) error {
	return l.pace(ctx, block.Event{Do: block.Pace, Words: strconv.FormatFloat(speed, 'f', -1, 64)})
}

func (l *Live) pace(ctx context.Context, e block.Event) error {
	return l.owner(ctx, func() error {
		since := l.paused
		if since.IsZero() != e.Off {
			return ErrAsItIs
		}
		if err := l.ownerDoes(e); err != nil {
			return err
		}
		if !e.Off && l.company != nil {
			l.company.PutOff(l.now().Sub(since))
			l.company.Runs(l.District().Speed(), l.now())
		}
		return nil
	})
}

// Resequence changes the sequence of trains: AddTrain, MoveTrain or Withdraw of block. ErrUnderWay: a box has been offered
// that train already, or has offered it, so that it can neither be moved nor withdrawn.
func (l *Live) Resequence(ctx context.Context, e block.Event) error {
	return l.owner(ctx, func() error {
		if e.Do != block.Trains {
			return ErrNoAct
		}
		if e.Where != block.Added && slices.ContainsFunc(l.desks, func(d *boxDesk) bool { return d.book.Seen(e.Train) }) {
			return ErrUnderWay
		}
		return l.ownerDoes(e)
	})
}

// Note writes a remark of the owner's into the record. It stands in no box's book.
func (l *Live) Note(ctx context.Context, words string) error {
	return l.owner(ctx, func() error {
		if words == "" || len(words) > mostWords {
			return ErrNoAct
		}
		if strings.HasPrefix(words, toldPrefix) { // Tell's
			words = "“" + words + "”"
		}
		return l.ownerDoes(block.Event{Do: block.Remark, Words: words})
	})
}

// owner has the goroutine do something of the owner's, and waits until all that it did is recorded.
func (l *Live) owner(ctx context.Context, does func() error) error {
	done := make(chan reply, 1)
	_, err := l.ask(ctx, ask{owner: does, reply: done}, done)
	return err
}

// ownerDoes steps an act of the owner's.
func (l *Live) ownerDoes(e block.Event) error {
	if l.differs != nil {
		return l.differs
	}
	e.At = l.now()
	f, err := l.step(e, ask{name: ownerSeat})
	if err != nil {
		return err
	}
	l.enqueue(f)
	l.saw(&f)
	return nil
}

// tookOwner keeps account of what only the owner does.
func (l *Live) tookOwner(e block.Entry) {
	if e.Event.Do == block.Pace {
		district := l.District().After(e)
		l.district.Store(&district)
		l.putsOff(e.Event)
		if l.paused = (time.Time{}); e.Event.Off {
			l.paused = e.Event.At
		}
	}
	for _, c := range e.Outcome.Changes {
		if b := c.Fault; b != nil {
			f := failed{Failure{b.Circuit, b.Where}, b.Section}
			l.faults = slices.DeleteFunc(l.faults, func(x failed) bool {
				return x.Failure == f.Failure && (f.section == "" || x.section == f.section)
			})
			if !b.Mended {
				l.faults = append(l.faults, f)
			}
		}
	}
	l.tookPlan(e)
	if e.Seat == ownerSeat {
		if l.ownerDid = append(l.ownerDid, e); len(l.ownerDid) > ownerRecalls {
			l.ownerDid = slices.Clone(l.ownerDid[1:])
		}
	}
}
