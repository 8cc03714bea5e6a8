package sitting

import (
	"context"
	"fmt"
	"slices"
	"time"

	"taillamp/block"
)

// programSeat is the name under which the record has what the program itself notes: of the real instruments, and of whom it
// turned away. No seat is called so.
const programSeat = "program"

// mostFitted is how many instruments a box may have.
const mostFitted = 32

// Instrument is a real one on the layout: a bell, a plunger, a needle, a detector, or several in one case.
type Instrument struct {
	Name  string            `json:"name"`
	On    bool              `json:"on"`              // on the wire
	Bells []block.CircuitID `json:"bells,omitempty"` // circuits whose bell it rings while it is on, instead of the tablet
	Says  string            `json:"says,omitempty"`  // what its signaller is to know of it
	At    time.Time         `json:"at"`              // since when all that is so
}

// Fit tells the sitting that an instrument of a box came on the wire or went off it, or has something to say. All of it
// stands in the record; the box and the owner see it. ErrAsItIs: it is so already. ErrNotForSeat: the box has as many as it may have.
func (l *Live) Fit(ctx context.Context, box block.BoxID, i Instrument) error {
	return l.owner(ctx, func() error {
		d := l.desk(box)
		if d == nil {
			return block.ErrNoSuchBox
		}
		i.Bells = slices.DeleteFunc(slices.Clone(i.Bells), func(c block.CircuitID) bool { return !d.hears[c] })
		at := slices.IndexFunc(d.fitted, func(x Instrument) bool { return x.Name == i.Name })
		var was Instrument
		if at >= 0 {
			was = d.fitted[at]
		}
		how := i.Says
		switch {
		case at < 0 && len(d.fitted) >= mostFitted:
			return ErrNotForSeat
		case i.On && !was.On:
			how = "it is on the wire"
		case !i.On && was.On:
			how = "it has gone off the wire; the tablet rings its bells"
		case i.Says == "" && slices.Equal(was.Bells, i.Bells):
			return ErrAsItIs
		case i.Says == "":
			how = "it rings other bells"
		}
		if err := l.noteFitted(fmt.Sprintf("%s, instrument %s: %s", box, i.Name, how)); err != nil {
			return err
		}
		i.At = l.now()
		if at < 0 {
			d.fitted = append(d.fitted, i)
		} else {
			d.fitted[at] = i
		}
		l.enqueue(fact{do: func() { l.tellFitted(d) }}) // once the record has it
		return nil
	})
}

// Report writes something that the program has noticed into the record. It stands in no box's book.
func (l *Live) Report(ctx context.Context, words string) error {
	return l.owner(ctx, func() error {
		if words == "" || len(words) > mostWords {
			return ErrNoAct
		}
		return l.noteFitted(words)
	})
}

func (l *Live) noteFitted(words string) error {
	if l.differs != nil {
		return l.differs
	}
	f, err := l.step(block.Event{Do: block.Remark, Words: words, At: l.now()}, ask{name: programSeat})
	if err != nil {
		return err
	}
	l.enqueue(f)
	l.saw(&f)
	return nil
}

// tellFitted tells those who follow a box how its instruments stand.
func (l *Live) tellFitted(d *boxDesk) {
	n := News{Position: l.told().at, At: l.now(), Fitted: slices.Clone(d.fitted)}
	l.sendTo(n, func(w *Watch) bool { return w.seat.Box == d.id })
}
