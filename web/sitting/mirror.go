package sitting

import (
	"context"

	"taillamp/block"
)

// Onlookers tell a signaller that his box is watched.
type Onlookers struct {
	As As `json:"as,omitempty"` // owner: the instructor looks on; watch: somebody does; empty: nobody does any more
}

// Shows is what a signaller's tablet shows that is in no record: with it the instructor who watches the box sees all that
// its signaller sees. No page but the instructor's is told of it.
type Shows struct {
	Tab    block.CircuitID                  `json:"tab,omitempty"`    // the neighbour in front, where there is room for one only
	Wants  map[block.SectionID]block.Aspect `json:"wants,omitempty"`  // what a finger points a needle at
	Says   map[block.CircuitID]string       `json:"says,omitempty"`   // the sentence under a bell: why something could not be
	Marks  []string                         `json:"marks,omitempty"`  // hush, poor, try, pen, phone: a strip that is out, a trial, a register kept by hand, a telephone open; lost: it is off the wire
	Beside block.BoxID                      `json:"beside,omitempty"` // the other of two boxes at that tablet
	Advice *Advised                         `json:"advice,omitempty"` // nil: he has none on
}

// Advised is an advice as far as it has been given.
type Advised struct {
	Act     string          `json:"act"`
	Why     string          `json:"why,omitempty"`
	Waits   bool            `json:"waits,omitempty"` // it says only that something is to be done
	Circuit block.CircuitID `json:"circuit,omitempty"`
	Section block.SectionID `json:"section,omitempty"`
	Show    block.Aspect    `json:"show,omitempty"`
}

// Press is a key of a box that was pressed there: for those who watch it, since its bell does not ring.
type Press struct {
	Circuit block.CircuitID
	Pressed Millis
}

// Shows takes what the tablet of a signaller at work shows and hands it on to whoever instructs there. ErrWrongTicket: the
// seat has no such tablet.
func (l *Live) Shows(ctx context.Context, s Seat, shows Shows) error {
	var refused error
	err := l.run(ctx, func() {
		d := l.desk(s.Box)
		if d == nil || s.As != Work || d.holder != s.name() {
			refused = ErrWrongTicket
			return
		}
		l.tellShows(d, &shows)
	})
	if err != nil {
		return err
	}
	return refused
}

func (l *Live) tellShows(d *boxDesk, shows *Shows) {
	d.shows = shows
	if l.failed == nil {
		n := News{Position: l.said(), At: l.now(), Shows: shows}
		l.sendTo(n, func(w *Watch) bool { return w.seat.As == Instructs && w.seat.Box == d.id })
	}
}

// tellWatched tells the signaller of a box who looks on, if that has changed.
func (l *Live) tellWatched(d *boxDesk) {
	var as As
	for _, w := range l.watches {
		if w.seat.Box == d.id && w.seat.watches() && as != Instructs {
			as = w.seat.As
		}
	}
	was := d.watchedBy
	if as == "" && was == nil || was != nil && was.As == as {
		return
	}
	n := News{Position: l.said(), At: l.now(), Watched: &Onlookers{as}}
	if d.watchedBy = n.Watched; as == "" {
		d.watchedBy = nil
	}
	if l.failed == nil {
		l.sendTo(n, func(w *Watch) bool { return w.seat.As == Work && w.seat.Box == d.id })
	}
}

// press tells those who watch a box that a key of it was pressed; the others are told the number of the beat alone.
func (l *Live) press(n News, e block.Event, who func(*Watch) bool) {
	d := l.desk(e.By)
	mirrors := func(w *Watch) bool { return d != nil && d.watchedBy != nil && w.seat.Box == d.id && w.seat.watches() }
	l.sendTo(n, func(w *Watch) bool { return who(w) && !mirrors(w) })
	if d != nil && d.watchedBy != nil {
		n.Press = &Press{e.Circuit, MillisOf(e.Pressed)}
		l.sendTo(n, func(w *Watch) bool { return who(w) && mirrors(w) })
	}
}
