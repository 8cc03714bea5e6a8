package block

import "time"

// absolute is absolute block on one line or a pair of lines: one train at a time between two boxes. The numbers in
// the comments are rows of the main table, 4.3, of the absolute-block reference.
//
// The standing of a line and its trains are in talk.lines; A is the box in rear, whose end the line leaves, and B the
// box in advance, which alone turns the needle.
type absolute struct{}

// own works a signal that the box at end x rings of its own accord.
func (absolute) own(w *work, x int, g *group, codes []*Code) {
	code := codes[0]
	switch {
	case code.Train && w.has(x):
		w.offer(x, g, code)
	case code.Train:
		w.senseless(x, g)
	case code.Key == warningCode:
		w.warn(x, g, code)
	case code.Key == outOfSection || code.Key == obstructionGone:
		w.giveOut(x, g, codes)
	default:
		w.otherSignal(x, g, code)
	}
}

// otherSignal works a signal that neither offers nor gives up a train.
func (w *work) otherSignal(x int, g *group, code *Code) {
	if code.Bearing == ToAdvance && !w.has(x) && code.Key != stopAndExamine {
		w.meaningless(x, g, code, -1) // no line leaves this end: no train of his can be entering or cancelled
		return
	}
	switch code.Key {
	case enteringSection:
		w.enter(x, g, code)
	case assistingRear:
		w.assist(x, g, code)
	case engineArrived:
		w.engineBack(x, g, code)
	case cancelling:
		w.cancel(x, g, code)
	case wrongDescription:
		w.misdescribed(x, g, code)
	case blockBackInside, blockBackOutside:
		w.blockBack(x, g, code)
	case shuntForward:
		w.shuntAhead(x, g, code)
	case shuntWithdrawn:
		w.withdraw(x, g, code)
	case openingCode, closingCode, closingLocked:
		w.farewell(x, g, code)
	default:
		w.emergency(x, g, code)
	}
}

// answered works the exact repetition by the box at end x of signal o.
func (absolute) answered(w *work, x int, o *open, g *group) {
	s := Signal{Key: o.code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Train: o.train}
	switch {
	case o.code.Train:
		s.Did = w.accept(x, o, g)
	case o.code.Key == warningCode && !o.void && o.line >= 0:
		s.Did = w.acceptWarned(o, g)
	default:
		s.Did = w.bind(x, o, g)
	}
	w.took(x, g, s)
}

// bind is what the repetition of a signal other than an offer makes binding.
func (w *work) bind(x int, o *open, g *group) Effect {
	if o.void {
		return Across
	}
	switch o.code.Key {
	case enteringSection:
		w.entered(o)
		return Entering
	case outOfSection:
		w.giveUp(o.line, g.first)
		if w.t.danger[1-x] != none {
			w.t.danger[1-x] = none // train by and danger over: one 2-1 ends both (4.6)
		}
		return OutOf
	case obstructionGone:
		w.removed(x, o)
		return Removed
	case cancelling:
		w.cancelled(o, g)
		return Cancelled
	}
	w.bindOther(x, o)
	return Across
}

// bindOther is what the repetition of a signal without a column of its own makes binding.
func (w *work) bindOther(x int, o *open) {
	y := 1 - x
	switch o.code.Key {
	case assistingRear:
		w.t.lines[o.line].assist = bound
	case engineArrived:
		w.t.lines[o.line].assist = none
	case wrongDescription:
		w.t.lines[o.line].mend = true
	case blockBackInside:
		w.t.lines[o.line].bbIn = bound
	case blockBackOutside:
		w.t.lines[o.line].bbOut = bound
	case shuntForward:
		w.grantForward(x, o)
	case shuntWithdrawn:
		w.t.lines[o.line].fwd = none
	case obstructionDanger:
		w.t.danger[y] = bound
	case noTailLampAdvance, dividedCode:
		w.entered(o) // B knows that the train is in the section, if 2 was not heard
	case openingCode:
		w.t.ending[y].opening = bound
	case closingCode, closingLocked:
		w.t.ending[y].closing = bound
	}
}

// across records a signal that has no column, and opens it for its repetition.
func (w *work) across(x int, g *group, code *Code, l int) {
	w.waits(x, g, code, l)
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: Across})
}

// meaningless is R04 for a signal of the book that has no meaning as the line stands. It rings and may be answered
// all the same.
func (w *work) meaningless(x int, g *group, code *Code, l int) {
	w.waits(x, g, code, l).void = true
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: Across})
	w.breaks("R04", x, l, g.first)
}

func (absolute) hold(*work, int, bool) error { return nil }

func (absolute) release(w *work, x, l int) error {
	w.t.lines[l].released = true
	w.releaseMisused(x, l)
	return nil
}

// releaseMisused is R46: the sealed release used with a train, or a doubt about one, in the section, be it one that B
// has given up although he saw that it was there.
func (w *work) releaseMisused(x, l int) {
	ln := &w.t.lines[l]
	if ln.stands >= ent || ln.train("") >= 0 && !ln.trains[ln.train("")].out() || givenUpInSight(ln) {
		w.breaks("R46", x, l, w.e.At)
	}
}

// standing is the line as the notes form prints it: the standing, overlays joined on.
func (absolute) standing(t *talk, l int) string {
	ln := &t.lines[l]
	s := ln.stands.String()
	for _, o := range []struct {
		on   bool
		word string
	}{
		{ln.bbIn != none, "+bbIn"},
		{ln.bbOut != none, "+bbOut"},
		{ln.fwd != none, "+fwd"},
		{t.danger[0] != none || t.danger[1] != none, "+danger"},
		{ln.engineers.on, "+engineers"},
	} {
		if o.on {
			s += o.word
		}
	}
	return s
}

// within tells whether two moments lie no further apart than limit. Longer than means longer.
func within(a, b time.Time, limit time.Duration) bool {
	d := a.Sub(b)
	return d <= limit && d >= -limit
}

// train0 is the name of the oldest train in the section, empty if it has none.
func (l *line) train0() TrainID {
	if i := l.train(""); i >= 0 {
		return l.trains[i].id
	}
	if l.offer != nil {
		return l.offer.train
	}
	return ""
}
