package block

import "time"

// offer is a class code with which A asks whether the line is clear: rows 3 and 4.
func (w *work) offer(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	again := ln.again(code)
	mends := ln.mend
	ln.mend = false
	o := w.waits(a, g, code, a)
	o.mends, o.again = mends && ln.stands >= acc, again
	did := Offered
	if o.mends {
		did = Mended
	}
	w.took(a, g, Signal{Key: code.Key, Sense: Own, Section: w.section(a), Did: did, Train: o.train})
	if o.mends || again {
		return
	}
	w.judgeOffer(a, g.first, code)
	if ln.stands <= ofw {
		ln.stands = off
		ln.offer = &acceptance{code: code, first: g.first, train: o.train}
	}
}

// again tells whether a class code is that of the train accepted already while the needle is still at line blocked:
// A had not heard the acceptance.
func (l *line) again(code *Code) bool {
	return (l.stands == acc || l.stands == acw) && l.shows == Blocked && l.offer.code == code
}

// judgeOffer lays an offer to the first rule that fits.
func (w *work) judgeOffer(a int, at time.Time, code *Code) {
	ln := &w.t.lines[a]
	switch {
	case w.againstDanger(a):
		w.breaks("R58", a, a, at)
	case w.offeredIntoBlockingBack(ln, a, code):
		w.breaks("R09", a, a, at)
	case w.offeredWhileNotClear(ln, a, at):
		w.breaks("R08", a, a, at)
	}
}

// againstDanger is R58: the box acts although obstruction danger is in force. Six beats bind the box that rings
// them at once, and the other when it has answered.
func (w *work) againstDanger(x int) bool {
	return w.t.danger[x] != none || w.t.danger[1-x] == bound
}

// offeredIntoBlockingBack is R09: A has acknowledged that the line is blocked back. Inside the home signal an offer
// is still right where regulation 5 is authorised.
func (w *work) offeredIntoBlockingBack(ln *line, a int, code *Code) bool {
	return ln.bbOut == bound || ln.bbIn == bound && !w.mayWarn(a, code)
}

// mayWarn tells whether the box in advance of the line leaving a may accept that train under regulation 5.
func (w *work) mayWarn(a int, code *Code) bool {
	b := &w.r.boxes[w.p.boxes[1-a]]
	return b.Warning(w.id(a), *code)
}

// offeredWhileNotClear is R08: the last train is not out, or the needle at A shows something else than line blocked.
// A needle that has only not yet followed the bell is no fault of A's.
func (w *work) offeredWhileNotClear(ln *line, a int, at time.Time) bool {
	if ln.fwd != none || ln.stands >= acc {
		return true
	}
	switch {
	case ln.shows == Blocked, ln.broken, w.t.kept(a), ln.bbIn != none, ln.bbOut != none, w.testing(at):
		return false
	case ln.shows == Clear && within(at, ln.moved, w.r.settle):
		return false // turned before the repetition
	}
	return ln.outGiven.IsZero() || !within(at, ln.outGiven, w.r.settle)
}

// testing tells whether needles may be worked through their positions: 16 was rung in the last two minutes.
func (w *work) testing(at time.Time) bool {
	return !w.t.tested.IsZero() && at.Sub(w.t.tested) <= testHold
}

const testHold = 120 * time.Second
