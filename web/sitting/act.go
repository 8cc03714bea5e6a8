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

// ask is one thing put before the goroutine: an act of a seat, the taking of duty, or something to do.
type ask struct {
	seat   Seat
	number uint64
	event  block.Event
	take   bool
	do     func()
	reply  chan<- reply
}

type reply struct {
	answer Answer
	err    error
}

// Act gives the sitting one event and waits until it is recorded or found impossible; a beat, until it is rung. The
// event is the box's own, whatever it says in By; without Pressed it was done just now.
//
// A number not above the seat's last returns the earlier answer again and does nothing, ErrForgotten if that answer is
// no longer known. Number 0 is never taken for a repetition. An error of the rules or of the seat means that nothing
// was recorded, ErrNotKept that the disk refused and the sitting is closed.
func (l *Live) Act(ctx context.Context, s Seat, number uint64, e block.Event) (Answer, error) {
	e.By = s.Box
	answer := make(chan reply, 1)
	return l.ask(ctx, ask{seat: s, number: number, event: e, reply: answer}, answer)
}

// TakeDuty signs a person on at a box and gives the seat for it. who is the name for the book and may be empty.
// ErrTaken: another tablet has the box. Where somebody is on duty of whom no tablet knows, he is relieved.
func (l *Live) TakeDuty(ctx context.Context, box block.BoxID, who string) (Seat, error) {
	s := Seat{Box: box, As: Work, Ticket: newTicket()}
	answer := make(chan reply, 1)
	e := block.Event{Do: block.Duty, By: box, Words: who}
	if _, err := l.ask(ctx, ask{seat: s, event: e, take: true, reply: answer}, answer); err != nil {
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

// take does one ask. What lies behind a fact is taken with it, up to a beat, which must not wait for the disk twice:
// that one is returned to be done next.
func (l *Live) take(a ask) (next ask, more bool) {
	switch {
	case a.do != nil:
		l.commit(l.overdue(l.batch[:0]))
		a.do()
		a.reply <- reply{}
		return ask{}, false
	case a.event.Do == block.Beat:
		l.beat(a)
		return ask{}, false
	}
	batch := l.stage(l.overdue(l.batch[:0]), a)
	for len(batch) < waiting && !more {
		select {
		case next = <-l.asks:
			if more = next.do != nil || next.event.Do == block.Beat; !more {
				batch = l.stage(batch, next)
			}
			continue
		default:
		}
		break
	}
	l.commit(batch)
	return next, more && l.failed == nil
}

// beat rings one stroke: the far box hears it at once, and it is written with the next batch.
func (l *Live) beat(a ask) {
	if r, again := l.again(a); again {
		a.reply <- r
		return
	}
	e, err := l.prepare(a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return
	}
	batch, err := l.try(l.batch[:0], e, a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return
	}
	l.ring(batch[0])
}

// ring tells a beat to every ear, and what else came of it when that is on the disk.
func (l *Live) ring(f fact) {
	n := News{Position: l.told(), At: f.entry.Event.At, Beat: true}
	var ring *block.Ring
	if len(f.entry.Outcome.Rings) > 0 {
		ring = &f.entry.Outcome.Rings[0]
	}
	for i := len(l.watches) - 1; i >= 0; i-- { // backwards: a slow one is taken out
		w := l.watches[i]
		n.Ring = nil
		if ring != nil && w.seat.Box == ring.To {
			n.Ring = ring
		}
		l.send(w, n)
	}
	if len(f.entry.Outcome.Changes)+len(f.entry.Outcome.Irregular) > 0 {
		f.reply <- f.answer
		f.reply = nil
		l.commit([]fact{f})
		return
	}
	if len(l.unsaved) == 0 {
		l.saveBy = f.entry.Event.At.Add(unsavedAt)
	}
	l.unsaved = append(l.unsaved, f.entry)
	l.show()
	f.reply <- f.answer
}

// stage steps one act and adds it to the batch. What cannot be is answered at once.
func (l *Live) stage(batch []fact, a ask) []fact {
	if r, again := l.again(a); again {
		return append(batch, fact{answer: r, reply: a.reply}) // perhaps to something in this very batch
	}
	e, err := l.prepare(a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return batch
	}
	if a.take {
		return l.relieve(batch, e, a)
	}
	staged, err := l.try(batch, e, a)
	if err != nil {
		a.reply <- l.impossible(a, err)
		return batch
	}
	return staged
}

// relieve signs a person on, and before him off whoever is on duty without a tablet.
func (l *Live) relieve(batch []fact, e block.Event, a ask) []fact {
	if l.rules.View(l.state, e.By).OnDuty {
		batch = l.step(batch, block.Event{Do: block.Duty, Off: true, By: e.By, At: e.At, Words: "relieved"}, ask{})
	}
	staged, err := l.try(batch, e, a)
	if err != nil {
		a.reply <- reply{err: err}
		return batch
	}
	return staged
}

// step steps an event of nobody's.
func (l *Live) step(batch []fact, e block.Event, a ask) []fact {
	staged, err := l.try(batch, e, a)
	if err != nil { // time and relief are always possible
		panic(fmt.Sprintf("%s at %v: %v", e.Do, e.At, err))
	}
	return staged
}

// try steps an event and adds it to the batch, or does nothing.
func (l *Live) try(batch []fact, e block.Event, a ask) ([]fact, error) {
	next, out, err := l.rules.Step(l.state, e)
	if err != nil {
		return batch, err
	}
	l.state = next
	l.seq++
	f := fact{entry: block.Entry{Seq: l.seq, Act: a.number, Event: e, Outcome: out}, state: next, reply: a.reply}
	f.answer = reply{answer: Answer{Seq: l.seq, Ending: out.Ending, Why: out.Why}}
	if a.seat.Ticket != "" {
		f.entry.Seat = a.seat.name()
	}
	l.took(f.entry)
	return append(batch, f), nil
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
	case a.seat.As != Work:
		return e, ErrNotForSeat
	case a.take && d.holder != "":
		return e, ErrTaken
	case !a.take && d.holder != a.seat.name():
		return e, ErrWrongTicket
	}
	e.At = l.now()
	if e.Pressed.IsZero() {
		return e, nil
	}
	e.Pressed = e.Pressed.Round(0).Truncate(time.Microsecond).In(l.zone)
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
	g := l.seats[a.seat.name()]
	if g == nil {
		return reply{}, false
	}
	return g.again(a.number)
}

// impossible is the answer to an act that cannot be. It is remembered where the seat is good.
func (l *Live) impossible(a ask, err error) reply {
	r := reply{err: err}
	if d := l.desk(a.seat.Box); d != nil && a.seat.As == Work && d.holder == a.seat.name() && err != ErrForgotten {
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
			d.holder, d.who = "", ""
			if !e.Event.Off {
				d.holder, d.who = e.Seat, e.Event.Words
			}
		}
	}
}

// commit writes beats and facts with one stroke, then tells them. If the disk refuses, nobody is told anything and the
// sitting has ended.
func (l *Live) commit(batch []fact) {
	if l.failed == nil {
		l.save(batch)
	}
	if l.failed == nil {
		for _, f := range batch {
			if f.entry.Seq != 0 {
				l.publish(f)
			}
		}
		l.show()
	}
	for _, f := range batch {
		if l.failed != nil {
			f.answer = reply{err: l.failed}
		}
		if f.reply != nil {
			f.reply <- f.answer
		}
	}
	l.batch = batch
}

// save writes the beats that hang in the air and a batch.
func (l *Live) save(batch []fact) {
	entries := append(l.entries[:0], l.unsaved...)
	for _, f := range batch {
		if f.entry.Seq != 0 {
			entries = append(entries, f.entry)
		}
	}
	l.entries = entries
	if len(entries) == 0 {
		return
	}
	if err := l.record.Append(context.Background(), entries...); err != nil {
		l.failed = fmt.Errorf("%w: %w", ErrNotKept, err)
		return
	}
	for _, e := range l.unsaved {
		l.book(e)
	}
	l.unsaved = l.unsaved[:0]
}

// book writes an entry into every register.
func (l *Live) book(e block.Entry) {
	for _, d := range l.desks {
		d.book.Write(e)
	}
}
