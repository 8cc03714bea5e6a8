package sitting

import (
	"context"
	"errors"
	"fmt"
	"time"

	"taillamp/block"
)

// fact is one thing on its way through the sitting: an event stepped, with its entry and the state after it; or
// something to do between two events; or an answer to be given again. All are told in the order in which they came.
type fact struct {
	entry  block.Entry
	state  block.State
	came   time.Time // when the frame that asked for it was read, or else when it was taken
	do     func()
	answer reply
	reply  chan<- reply  // nil: nobody waits, or he has been answered
	phones [][]Telephone // of every box after it, by desks; nil where it concerned none
	rung   bool          // a beat told to every ear under its number
	early  bool          // a beat told to the far ear without its number: the number before it was not told yet
	told   bool          // nothing is left to tell
}

// ring tells a beat at once. While something before it still waits for the disk, only the far ear is told, and the
// number follows in its turn.
func (l *Live) ring(f *fact) {
	f.early = l.untold > 0
	if f.rung = !f.early; f.rung {
		l.rungTo = f.entry.Seq
	}
	n := News{Position: Position{l.epoch, f.entry.Seq}, At: f.entry.Event.At, Came: f.came, Beat: true, Early: f.early}
	if rings := f.entry.Outcome.Rings; len(rings) > 0 {
		n.Ring = &rings[0]
		l.sendTo(n, func(w *Watch) bool { return w.seat.Box == n.Ring.To })
	}
	if f.rung {
		to := n.Ring
		n.Ring = nil
		l.press(n, f.entry.Event, func(w *Watch) bool { return to == nil || w.seat.Box != to.To })
	}
	if f.rung && len(f.entry.Outcome.Changes)+len(f.entry.Outcome.Irregular) == 0 {
		f.told = true
		l.show(f.entry.Seq, f.state)
	}
	if f.reply != nil {
		f.reply <- f.answer
		f.reply = nil
	}
}

// enqueue puts a fact in its place, and does at once what needs no waiting.
func (l *Live) enqueue(f fact) {
	if f.entry.Seq == 0 && l.untold == 0 {
		l.tellOne(f)
		return
	}
	if len(l.queue) == 0 {
		l.saveBy = l.now().Add(unsavedAt)
	}
	l.queue = append(l.queue, f)
	if !f.told {
		l.untold++
		l.write()
	}
}

// write hands what waits to the disk, if that is free.
func (l *Live) write() {
	if l.writing || len(l.queue) == 0 {
		return
	}
	l.flight, l.queue = l.queue, l.flight[:0]
	l.entries = l.entries[:0]
	for i := range l.flight {
		if l.flight[i].entry.Seq != 0 {
			l.entries = append(l.entries, l.flight[i].entry)
		}
	}
	l.writing = true
	l.toDisk <- l.entries
}

// wrote goes on when the disk is done: it tells what is safe now, and hands over what has come since.
func (l *Live) wrote(err error) {
	l.writing = false
	var unsure *UnsureError
	if errors.As(err, &unsure) {
		err = unsure.Err
		l.refuse(l.flight, &UnsureError{fmt.Errorf("%w: %w", ErrNotKept, err)})
	}
	if err != nil {
		l.fail(fmt.Errorf("%w: %w", ErrNotKept, err))
		return
	}
	for i := range l.flight {
		f := &l.flight[i]
		if f.told {
			l.book(f.entry)
			continue
		}
		l.untold--
		l.tellOne(*f)
	}
	clear(l.flight) // nothing is to be kept alive by it
	if l.untold > 0 {
		l.write()
	}
}

// tellOne tells what is safely recorded.
func (l *Live) tellOne(f fact) {
	switch {
	case f.do != nil:
		f.do()
	case f.entry.Seq != 0:
		if f.early {
			l.number(f)
		}
		if !f.early || len(f.entry.Outcome.Changes)+len(f.entry.Outcome.Irregular) > 0 {
			l.publish(f)
		} else {
			l.book(f.entry)
		}
		l.show(f.entry.Seq, f.state)
	}
	if f.reply != nil {
		f.reply <- f.answer
	}
}

// number tells everybody the number of a beat that rang before its turn.
func (l *Live) number(f fact) {
	n := News{Position: Position{l.epoch, f.entry.Seq}, At: f.entry.Event.At, Beat: true}
	l.press(n, f.entry.Event, func(*Watch) bool { return true })
}

// sendTo tells some of those who watch.
func (l *Live) sendTo(n News, who func(*Watch) bool) {
	l.everybody(func(w *Watch) {
		if who(w) {
			l.send(w, &n)
		}
	})
}

// book writes an entry into every register.
func (l *Live) book(e block.Entry) {
	for _, d := range l.desks {
		d.book.Write(e)
	}
}

// fail ends the sitting: nobody is told what is not on the disk.
func (l *Live) fail(why error) {
	l.failed = why
	l.refuse(l.flight, why)
	l.refuse(l.queue, why)
}

// refuse gives all who wait for some facts the same answer.
func (l *Live) refuse(waiting []fact, why error) {
	for i := range waiting {
		f := &waiting[i]
		if f.reply == nil {
			continue
		}
		select {
		case f.reply <- reply{err: why}:
		default: // he was answered before the fault came to light
		}
		f.reply = nil
	}
}

// keep is the goroutine that waits for the disk.
func (l *Live) keep() {
	for entries := range l.toDisk {
		l.kept <- l.save(entries)
	}
	close(l.kept)
}

// save writes entries. A fault in the program ends this sitting and no other.
func (l *Live) save(entries []block.Entry) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%w: %v", ErrBroken, r)
		}
	}()
	if len(entries) == 0 {
		return nil
	}
	return l.record.Append(context.Background(), entries...)
}
