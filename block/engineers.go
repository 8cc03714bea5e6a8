package block

import "time"

// possession is a line in the engineers' hands: given up by a form and a message and so handed back, never by bell
// (other-methods reference, 9.3). Until the message that the line is clear no train is signalled over it.
type possession struct {
	on    bool
	since time.Time
	mute  bool // it was handed back, and no message said that the line is clear
}

// giveUpLine gives the line leaving end l up to the engineers, or takes it back from them; the box at end x has the
// form. What is wrong at once is OC-10: a line given up with a train signalled on it.
func (w *work) giveUpLine(x, l int) error {
	if !w.has(l) {
		l = onlyLine(w)
	}
	p := &w.t.lines[l].engineers
	switch {
	case w.e.Off && !p.on:
		return ErrNotGivenUp
	case !w.e.Off && p.on:
		return ErrGivenUp
	case w.e.Off:
		*p = possession{mute: w.e.Words == ""}
	default:
		if w.busy(l) {
			w.breaks("OC-10", x, l, w.e.At)
		}
		*p = possession{on: true, since: w.e.At}
	}
	w.change(Change{Engineers: &LineGiven{Section: w.section(l), Box: w.id(x), Back: w.e.Off}})
	return nil
}

// busy tells whether a train is accepted on the line leaving end l, or in it.
func (w *work) busy(l int) bool {
	ln := &w.t.lines[l]
	return ln.stands >= acc || ln.held() > 0
}

// acceptedInPossession is OC-10 for a train accepted by the box at end b over a line that the engineers have, or handed
// back without a word; the word is missed once. With a pilotman the train goes by the other road, and the bells of the
// line speak of it all the same.
func (w *work) acceptedInPossession(b, l int, at time.Time) {
	p := &w.t.lines[l].engineers
	if w.t.pilot.inForce() && w.t.pilot.road == l || !p.on && !p.mute {
		return
	}
	p.mute = false
	w.breaks("OC-10", b, l, at)
}

// kept tells whether the needle of the line leaving end l is kept at train on line: the engineers have the line, or a
// pilotman works the other road in its place.
func (t *talk) kept(l int) bool {
	return t.lines[l].engineers.on || t.pilot.inForce() && t.pilot.road == l
}
