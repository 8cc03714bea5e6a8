package sitting

import (
	"context"
	"strings"
	"time"

	"taillamp/block"
)

// asking is somebody at another tablet who asks for a box that has its signaller: to relieve him, or to keep the
// register beside him. It is in nobody's record; what comes of it is.
type asking struct {
	as      As
	seat    string // that he is to have
	who     string
	at      time.Time // when he last said that he waits
	allowed bool
	owner   bool // by the owner
}

// Asking tells a signaller, and the owner, that somebody asks for his box.
type Asking struct {
	As      As     `json:"as"`            // work: to relieve him; book: to keep the register beside him; empty: nobody asks
	Who     string `json:"who,omitempty"` // as he gave his name
	Allowed bool   `json:"allowed,omitempty"`
}

// waits is how long one who asks may be silent until he is taken to have gone away.
const waits = 15 * time.Second

// AskFor asks the signaller of a box to be relieved by the seat given, or to have his register kept by it, and asks
// again as often as it is called. It tells whether that has been allowed. A TakenError: somebody else asks already.
// ErrAsItIs: nobody has the box, or the seat is gone.
func (l *Live) AskFor(ctx context.Context, s Seat, who string) (allowed bool, err error) {
	err = l.owner(ctx, func() error {
		d := l.desk(s.Box)
		switch {
		case d == nil:
			return block.ErrNoSuchBox
		case s.As != Work && s.As != BookLad || s.Ticket == "":
			return ErrNotForSeat
		case d.holder == "" || d.holder == s.name():
			return ErrAsItIs
		}
		if a := d.askingAt(l.now()); a != nil && a.seat != s.name() {
			return &TakenError{Who: a.who}
		}
		if a := d.asking; a == nil || a.seat != s.name() || a.as != s.As {
			d.asking = &asking{as: s.As, seat: s.name(), who: who, at: l.now()}
			l.tellAsking(d)
		}
		d.asking.at = l.now()
		allowed = d.asking.allowed
		return nil
	})
	return allowed, err
}

// Allow is a signaller's answer to one who asks for his box. A keeper of the register begins at once; one who relieves
// him, as soon as he signs on. ErrAsItIs: nobody asks any more.
func (l *Live) Allow(ctx context.Context, s Seat, yes bool) error {
	return l.owner(ctx, func() error {
		d := l.desk(s.Box)
		if d == nil || s.As != Work || d.holder != s.name() {
			return ErrWrongTicket
		}
		return l.allow(d, yes, false)
	})
}

// AllowByOwner is the owner's answer to one who asks for a box.
func (l *Live) AllowByOwner(ctx context.Context, box block.BoxID, yes bool) error {
	return l.owner(ctx, func() error {
		d := l.desk(box)
		if d == nil {
			return block.ErrNoSuchBox
		}
		return l.allow(d, yes, true)
	})
}

func (l *Live) allow(d *boxDesk, yes, owner bool) error {
	a := d.askingAt(l.now())
	if a == nil {
		return ErrAsItIs
	}
	if !yes {
		d.asking = nil
		l.tellAsking(d)
		return nil
	}
	if a.as == BookLad {
		e := block.Event{Do: block.Remark, By: d.id, At: l.now(), Words: keptPrefix + named(a.who, "a booking lad")}
		f, err := l.step(e, ask{name: a.seat})
		if err != nil {
			return err
		}
		l.enqueue(f)
		l.saw(&f)
	}
	a.allowed, a.owner = true, owner
	l.tellAsking(d)
	return nil
}

// keptPrefix begins the line of a book from which on it is kept by another beside the signaller. The record has it under his
// seat, so that he has the leave also when the sitting was gone on with; in records of before it stands under the signaller's.
const keptPrefix = "register kept by "

// tookLad keeps account of who keeps the register of each box.
func (l *Live) tookLad(e block.Entry) {
	d := l.desk(e.Event.By)
	if d == nil || e.Event.Do != block.Remark || !strings.HasPrefix(e.Event.Words, keptPrefix) {
		return
	}
	if e.Seat != "" && e.Seat != d.holder && e.Seat != ownerSeat {
		d.lad = e.Seat
	}
}

// Keeps tells whether a seat keeps the register of its box beside the signaller.
func (l *Live) Keeps(ctx context.Context, s Seat) bool {
	keeps := false
	err := l.run(ctx, func() {
		d := l.desk(s.Box)
		keeps = d != nil && s.As == BookLad && s.Ticket != "" && d.lad == s.name()
	})
	return err == nil && keeps
}

// Relieve signs a person on at a box whose signaller, or the owner, has allowed it, and the signaller off: two lines in
// the book and nothing between them, neither a bell nor a needle. The other's tablet is told ErrRelieved.
func (l *Live) Relieve(ctx context.Context, s Seat, who string) error {
	answer := make(chan reply, 1)
	_, err := l.ask(ctx, ask{seat: s, name: s.name(), event: block.Event{Do: block.Duty, By: s.Box, Words: who}, take: true, reply: answer}, answer)
	return err
}

// relieves tells whether a seat may take a box from its signaller.
func (d *boxDesk) relieves(seat string) bool {
	return d.asking != nil && d.asking.as == Work && d.asking.allowed && d.asking.seat == seat
}

// askingAt is who asks for a box and has not gone away.
func (d *boxDesk) askingAt(now time.Time) *asking {
	if d.asking == nil || d.holder == "" || now.Sub(d.asking.at) > waits {
		return nil
	}
	return d.asking
}

// askerOf is what the signaller of a box is told of one who asks for it.
func (l *Live) askerOf(d *boxDesk) *Asking {
	if a := d.askingAt(l.now()); a != nil {
		return &Asking{As: a.as, Who: a.who, Allowed: a.allowed}
	}
	return nil
}

// tellAsking tells the signaller of a box who asks for it, or that nobody does.
func (l *Live) tellAsking(d *boxDesk) {
	a := l.askerOf(d)
	if a == nil {
		a = &Asking{}
	}
	l.sendTo(News{Position: l.told().at, At: l.now(), Asks: a}, func(w *Watch) bool { return w.seat.confided() && w.seat.Box == d.id })
}

// relieve signs off whoever is on duty in a box that another takes: one without a tablet, or one who has allowed it.
func (l *Live) relieve(e block.Event, by string) {
	if !l.rules.View(l.state, e.By).OnDuty {
		return
	}
	off := block.Event{Do: block.Duty, Off: true, By: e.By, At: e.At, Words: "relieved"}
	d := l.desk(e.By)
	if !d.relieves(by) {
		l.stepOwn(off)
		return
	}
	seat := d.holder
	if off.Words = "relieved by " + named(e.Words, "another"); d.asking.owner {
		seat, off.Words = ownerSeat, off.Words+", by the owner's leave"
	}
	f, err := l.step(off, ask{name: seat})
	if err != nil {
		panic("relief: " + err.Error()) // he is on duty
	}
	l.enqueue(f)
	l.saw(&f)
	l.enqueue(fact{do: func() { l.sendAway(e.By, ErrRelieved) }}) // once the record has it
}

func named(who, nameless string) string {
	if who == "" {
		return nameless
	}
	return who
}
