package sitting

import (
	"context"
	"fmt"
	"time"

	"taillamp/block"
)

// Answer is what came of an act.
type Answer struct {
	Seq    uint64 // its number in the record
	Ending block.Ending
	Why    block.Reason // of a refusal
}

// ask is one thing put before the goroutine: an act of a seat, the taking of duty, something to do, or an act of the
// owner's.
type ask struct {
	seat   Seat
	name   string // of the seat
	number uint64
	event  block.Event
	came   time.Time // when its frame was read; zero: no frame asked for it
	take   bool
	do     func() // instead of an act
	owner  func() error
	end    error // or to end: how
	reply  chan<- reply
}

type reply struct {
	answer Answer
	err    error
}

// Act gives the sitting one event and waits until it is recorded or found impossible; a beat, until it is rung. The
// event is the box's own, whatever it says in By; without Pressed it was done just now. Its At is when the frame that asks
// for it was read, if one does, and is handed on to News.Came: when the act is taken the sitting says itself.
//
// A number not above the seat's last returns the earlier answer again and does nothing, ErrForgotten if that answer is
// no longer known. Number 0 is never taken for a repetition. An error of the rules or of the seat means that nothing
// was recorded, ErrNotKept that the disk refused and the sitting is closed;
// as an UnsureError, too, where nobody knows whether the event is in the record.
func (l *Live) Act(ctx context.Context, s Seat, number uint64, e block.Event) (Answer, error) {
	e.By = s.Box
	answer := make(chan reply, 1)
	return l.ask(ctx, ask{seat: s, name: s.name(), number: number, event: e, came: e.At, reply: answer}, answer)
}

// TakeDuty signs a person on at a box and gives the seat for it. who is the name for the book and may be empty.
// ErrTaken: another tablet has the box. Where somebody is on duty of whom no tablet knows, he is relieved; so is one
// whose tablet has not come back since the sitting was gone on with.
func (l *Live) TakeDuty(ctx context.Context, box block.BoxID, who string) (Seat, error) {
	s := Seat{Box: box, As: Work, Ticket: newTicket()}
	answer := make(chan reply, 1)
	e := block.Event{Do: block.Duty, By: box, Words: who}
	if _, err := l.ask(ctx, ask{seat: s, name: s.name(), event: e, take: true, reply: answer}, answer); err != nil {
		return Seat{}, err
	}
	return s, nil
}

// Holds tells whether a ticket is still good for the duty of its box.
func (l *Live) Holds(ctx context.Context, s Seat) bool {
	holds := false
	err := l.run(ctx, func() {
		d := l.desk(s.Box)
		holds = d != nil && s.As == Work && d.holder == s.name()
	})
	return err == nil && holds
}

// take does one ask.
func (l *Live) take(a ask) {
	switch {
	case a.end != nil:
		if l.company != nil && l.differs == nil {
			l.company.RingOut(l.enter)
		}
		l.ending, l.endReply = a.end, a.reply
		return
	case a.do != nil:
		l.enqueue(fact{do: a.do, reply: a.reply})
		return
	case a.owner != nil:
		err := a.owner()
		l.enqueue(fact{answer: reply{err: err}, reply: a.reply}) // after what it did
		return
	}
	if r, again := l.again(a); again {
		l.enqueue(fact{answer: r, reply: a.reply}) // after what it may repeat
		return
	}
	e, err := l.prepare(a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return
	}
	if e.Do == block.Duty && e.Off && e.Words == "" && l.company != nil && l.company.Relieves() {
		e.Words = "relieved by a simulated signaller" // he is there at once and knows what stands on the instruments
	}
	if a.take {
		l.relieve(e, a.name)
	}
	f, err := l.step(e, a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return
	}
	if e.Do == block.Beat {
		l.ring(&f)
	}
	l.enqueue(f)
	l.saw(&f)
}

// overdue does what is due by now, each thing in its turn and at the time at which it was due. So a machine that is held up
// changes nothing: else a simulated hand's late beats would come after the quiet that ends their code, and a 4 be read as 2 and 2.
func (l *Live) overdue() {
	if l.differs != nil {
		return
	}
	l.heldUp()
	for now := l.now(); ; {
		quiet, rings := l.rules.Due(l.state)
		rings = rings && !quiet.After(now)
		next, acts := l.companyDue(now)
		switch {
		case acts && (!rings || next.Before(quiet)):
			l.company.Advance(next, l.enter)
		case rings:
			l.stepOwn(block.Event{Do: block.Tick, At: l.since(quiet)})
		default:
			l.carriesOut()
			return
		}
	}
}

// stepOwn steps an event that is always possible.
func (l *Live) stepOwn(e block.Event) {
	f, err := l.step(e, ask{})
	if err != nil {
		panic(fmt.Sprintf("%s at %v: %v", e.Do, e.At, err))
	}
	l.enqueue(f)
	l.saw(&f)
}

// step steps an event; with an error nothing has changed.
func (l *Live) step(e block.Event, a ask) (fact, error) {
	next, out, err := l.rules.Step(l.state, e)
	if err != nil {
		return fact{}, err
	}
	l.state = next
	l.seq++
	f := fact{entry: block.Entry{Seq: l.seq, Act: a.number, Seat: a.name, Event: e, Outcome: out}, state: next, came: a.came, reply: a.reply}
	if f.came.IsZero() {
		f.came = e.At
	}
	f.answer = reply{answer: Answer{Seq: l.seq, Ending: out.Ending, Why: out.Why}}
	l.took(f.entry)
	f.phones = l.phonesAfter(e)
	return f, nil
}

// prepare finds out whether a seat may do an act now, and gives the event its times.
func (l *Live) prepare(a ask) (block.Event, error) {
	e := a.event
	if l.differs != nil {
		return e, l.differs
	}
	d := l.desk(a.seat.Box)
	switch {
	case d == nil:
		return e, block.ErrNoSuchBox
	case a.seat.As == Fitted && e.Do != block.Duty: // whether anybody is on duty, the rules ask
	case a.seat.As == BookLad && d.lad == a.name && (e.Do == block.Remark || e.Do == block.Slip): // his pen, and no bell
	case a.seat.As != Work:
		return e, ErrNotForSeat
	case a.take && d.taken(l.now()) && !d.relieves(a.name):
		return e, &TakenError{Who: d.who}
	case a.seat.As == Work && !a.take && d.holder != a.name:
		return e, ErrWrongTicket
	}
	if a.seat.As == Work {
		d.seen = true
	}
	e.At = l.now()
	if e.Do == block.Call {
		if err := l.mayCall(d, e); err != nil {
			return e, err
		}
	}
	if e.Pressed.IsZero() {
		return e, nil
	}
	e.Pressed = l.stamp(e.Pressed)
	if e.Pressed.After(e.At) {
		e.Pressed = e.At
	}
	if e.At.Sub(e.Pressed) > freshFor(e.Do) {
		return e, ErrStale
	}
	if last := l.pressed[bellKey{e.Circuit, e.By}]; e.Do == block.Beat && e.Pressed.Before(last) {
		e.Pressed = last
	}
	return e, nil
}

// How old an act may be when it comes. What a hand does at an instrument is of the moment; what eyes saw while the
// network was away may be told afterwards.
const (
	freshHand = 2 * time.Second
	freshEyes = 10 * time.Minute
)

func freshFor(d block.Do) time.Duration {
	switch d {
	case block.Beat, block.Hold, block.Turn, block.Lever, block.Release, block.Token, block.Switch:
		return freshHand
	}
	return freshEyes
}

// again gives the earlier answer to an act done before.
func (l *Live) again(a ask) (reply, bool) {
	g := l.seats[a.name]
	if g == nil {
		return reply{}, false
	}
	return g.again(a.number)
}

// impossible is the answer to an act that cannot be. It is remembered where the seat is good.
func (l *Live) impossible(a ask, err error) reply {
	r := reply{err: err}
	if d := l.desk(a.seat.Box); d != nil && a.seat.As == Work && d.holder == a.name && err != ErrForgotten {
		l.seat(d.holder).note(a.number, r)
	}
	return r
}

func (l *Live) seat(name string) *seatLog {
	g := l.seats[name]
	if g == nil {
		g = new(seatLog)
		l.seats[name] = g
	}
	return g
}

// took keeps account of an entry: who has which box, which acts were done, when each key was pressed last.
func (l *Live) took(e block.Entry) {
	if e.Seat != "" {
		l.seat(e.Seat).note(e.Act, reply{answer: Answer{Seq: e.Seq, Ending: e.Outcome.Ending, Why: e.Outcome.Why}})
	}
	switch e.Event.Do {
	case block.Beat:
		if p := e.Event.Pressed; !p.IsZero() {
			l.pressed[bellKey{e.Event.Circuit, e.Event.By}] = p
		}
	case block.Duty:
		if d := l.desk(e.Event.By); d != nil && e.Outcome.Ending == block.Done {
			d.holder, d.who, d.at, d.left, d.shows = "", "", 0, time.Time{}, nil
			if !e.Event.Off {
				d.asking = nil
			}
			if !e.Event.Off && e.Seat != ownerSeat {
				d.holder, d.who = e.Seat, e.Event.Words
			}
		}
	}
	l.tookOwner(e)
	l.tookTold(e)
	l.tookLad(e)
	l.called(e.Event)
}
