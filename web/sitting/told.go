package sitting

import (
	"context"
	"slices"
	"strings"

	"taillamp/block"
)

// A word to boxes is a remark of the owner's that begins with whom it is for: "To OS, UL: the express runs late." It
// stands in the record as such, and nowhere else until one of those boxes' signallers has read it: not on another page,
// in no book. Reading it is recorded too.
const (
	toldPrefix = "To "
	readPrefix = "Read at "
)

// Tell puts words before the signallers of boxes, each on his own tablet, until he says that he has read them.
// ErrNoSuchBox, and ErrNoAct where there are no words or too many.
func (l *Live) Tell(ctx context.Context, boxes []block.BoxID, words string) error {
	return l.owner(ctx, func() error { return l.tells(boxes, words) })
}

func (l *Live) tells(boxes []block.BoxID, words string) error {
	e, err := l.telling(boxes, words)
	if err != nil {
		return err
	}
	if err := l.ownerDoes(e); err != nil {
		return err
	}
	l.tellTold()
	return nil
}

// telling is the remark by which boxes are told something.
func (l *Live) telling(boxes []block.BoxID, words string) (block.Event, error) {
	var to []string
	for _, b := range boxes {
		if l.desk(b) == nil {
			return block.Event{}, block.ErrNoSuchBox
		}
		to = append(to, string(b))
	}
	said := toldPrefix + strings.Join(to, ", ") + ": " + words
	if len(to) == 0 || words == "" || len(said) > mostWords {
		return block.Event{}, ErrNoAct
	}
	return block.Event{Do: block.Remark, Words: said}, nil
}

// Read is a signaller's word that he has read the oldest of what he was told. ErrAsItIs: there is nothing to read.
func (l *Live) Read(ctx context.Context, s Seat) error {
	return l.owner(ctx, func() error {
		d := l.desk(s.Box)
		if d == nil || s.As != Work || d.holder != s.name() {
			return ErrWrongTicket
		}
		if len(d.told) == 0 {
			return ErrAsItIs
		}
		f, err := l.step(block.Event{Do: block.Remark, At: l.now(), Words: readPrefix + string(d.id) + ": " + d.told[0]}, ask{name: d.holder})
		if err != nil {
			return err
		}
		l.enqueue(f)
		l.saw(&f)
		l.tellTold()
		return nil
	})
}

// tookTold keeps account of what each box has been told and has not read.
func (l *Live) tookTold(e block.Entry) {
	if e.Event.Do != block.Remark || e.Event.By != "" {
		return
	}
	if to, words, ok := strings.Cut(strings.TrimPrefix(e.Event.Words, toldPrefix), ": "); ok && e.Seat == ownerSeat && strings.HasPrefix(e.Event.Words, toldPrefix) {
		for _, box := range strings.Split(to, ", ") {
			if d := l.desk(block.BoxID(box)); d != nil {
				d.told, d.toTell = append(d.told, words), true
			}
		}
		return
	}
	if box, words, ok := strings.Cut(strings.TrimPrefix(e.Event.Words, readPrefix), ": "); ok && e.Seat != ownerSeat && strings.HasPrefix(e.Event.Words, readPrefix) {
		if d := l.desk(block.BoxID(box)); d != nil {
			if at := slices.Index(d.told, words); at >= 0 {
				d.told, d.toTell = slices.Delete(slices.Clone(d.told), at, at+1), true
			}
		}
	}
}

// Words are what a signaller has been told and has not read, the oldest first.
type Words struct {
	All []string `json:"all"`
}

// tellTold lets every signaller see what he has been told, once the record has it.
func (l *Live) tellTold() {
	l.enqueue(fact{do: func() {
		for _, d := range l.desks {
			if !d.toTell {
				continue
			}
			d.toTell = false
			n := News{Position: l.told().at, At: l.now(), Words: &Words{slices.Clone(d.told)}}
			l.sendTo(n, func(w *Watch) bool { return w.seat.confided() && w.seat.Box == d.id })
		}
	}})
}
