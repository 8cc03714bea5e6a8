package block

import "time"

// giveOut is 2-1. The same beats say that a train is out of section and that an obstruction is gone; which it is the
// state decides (absolute-block reference, 4.6). It is always of the line toward its sender, except after his own 6.
func (w *work) giveOut(b int, g *group, codes []*Code) {
	l := 1 - b
	switch {
	case w.has(l):
	case w.t.danger[b] != none: // of the line away from him, where it is the only one
		w.remove(b, b, g, pick(codes, obstructionGone))
		return
	default:
		w.meaningless(b, g, codes[0], -1)
		return
	}
	if w.removes(b, l) {
		w.remove(b, l, g, pick(codes, obstructionGone))
		return
	}
	code := pick(codes, outOfSection)
	w.judgeOut(b, l, g.first)
	ln := &w.t.lines[l]
	o := w.waits(b, g, code, l)
	o.void = outForNothing(ln, ln.train("")) // R41 gives up nothing, not even what has come before it is answered
	w.took(b, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: OutOf, Train: w.t.lines[l].train0()})
}

// pick finds the code of that key among those of the same beats.
func pick(codes []*Code, key CodeKey) *Code {
	for _, c := range codes {
		if c.Key == key {
			return c
		}
	}
	return codes[0]
}

// removes tells whether B's 2-1 says that an obstruction is gone.
func (w *work) removes(b, l int) bool {
	ln := &w.t.lines[l]
	i := ln.train("")
	gone := i >= 0 && ln.trains[i].out()
	if w.t.danger[b] != none {
		return !gone
	}
	if ln.bbIn == none && ln.bbOut == none {
		return false
	}
	return ln.stands <= ofw || !gone
}

// judgeOut lays a 2-1 that gives up a train to the first rule that fits.
func (w *work) judgeOut(b, l int, at time.Time) {
	ln := &w.t.lines[l]
	i := ln.train("")
	switch {
	case outInDoubt(ln):
		if !ln.doubted {
			w.breaks("R43", b, l, at)
		}
		ln.doubted = false
	case w.outBeforeSeen(ln, i):
		w.breaks("R38", b, l, at)
	case outInsideClearing(ln, i):
		w.breaks("R39", b, l, at)
	case outForNothing(ln, i):
		w.breaks("R41", b, l, at)
	}
}

// outInDoubt is R43: the train was not known to be whole. Only finding it whole, or being told, ends a doubt.
func outInDoubt(ln *line) bool { return ln.stands == doubt }

// outBeforeSeen is R38: the train had not been seen to go by complete with its tail lamp. Where the sitting sees no
// trains at all nothing is inferred.
func (w *work) outBeforeSeen(ln *line, i int) bool {
	if i < 0 || ln.runaway || ln.isTrolley() || ln.trains[i].out() {
		return false
	}
	o := &ln.trains[i]
	if o.left.IsZero() && o.seen == "" && !w.r.layout.Settings.Lamps {
		return false
	}
	return o.seen != Arrives
}

// outInsideClearing is R39: the tail is past the home signal but inside the clearing point.
func outInsideClearing(ln *line, i int) bool {
	return i >= 0 && !ln.runaway && ln.trains[i].seen == Arrives && !ln.trains[i].out()
}

// outForNothing is R41: no train, and nothing to remove.
func outForNothing(ln *line, i int) bool { return i < 0 && ln.stands <= acw && !ln.runaway }

// giveUp is A's repetition of 2-1: the oldest train is given up, and a second acceptance kept beside it comes into
// its own. Row 23.
func (w *work) giveUp(l int, at time.Time) {
	ln := &w.t.lines[l]
	i := ln.train("")
	if i >= 0 {
		if ln.trains[i].out() || ln.trains[i].left.IsZero() && ln.trains[i].seen == "" {
			ln.remove(i)
		} else {
			ln.change(i).given = true
		}
	}
	ln.runaway, ln.doubted = false, false
	if ln.assist != none && ln.shows == Blocked {
		ln.assist = none // the needle had said so before the bell
	}
	w.settles(l, at)
}

// settles finds where the line stands once a train has been given up.
func (w *work) settles(l int, at time.Time) {
	ln := &w.t.lines[l]
	ln.outGiven = at
	next := ln.train("")
	switch {
	case next >= 0 && ln.second != nil:
		ln.offer, ln.second, ln.used = ln.second, nil, ln.second.gone
		ln.stands = lin
		if ln.trains[next].two.IsZero() {
			ln.stands = acc
		}
	case next >= 0:
		ln.stands = lin
		if ln.trains[next].incomplete() {
			ln.stands = doubt
		}
	case ln.second != nil:
		ln.offer, ln.second, ln.used, ln.stands = ln.second, nil, ln.second.gone, acc
	case w.t.offer[l] != nil && w.t.offer[l].line == l:
		o := w.t.offer[l]
		ln.offer, ln.used, ln.stands = &acceptance{code: o.code, first: o.first, train: o.train}, false, off
	default:
		ln.offer, ln.used, ln.stands = nil, false, idle
	}
}

// remove is 2-1 saying that the obstruction is gone.
func (w *work) remove(b, l int, g *group, code *Code) {
	ln := &w.t.lines[l]
	if ln.foul != "" && l != b {
		w.removedNotSo(b, l, g)
	}
	w.waits(b, g, code, l)
	w.took(b, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: Removed})
}

// removedNotSo is R52 with the thing still there; after 6 it is R58.
func (w *work) removedNotSo(b, l int, g *group) {
	if w.t.danger[b] != none {
		w.breaks("R58", b, l, g.first)
		return
	}
	w.breaksAs("R52", Dangerous, b, l, g.first)
}

// removed is the repetition: danger and blocking back are over.
func (w *work) removed(a int, o *open) {
	b := 1 - a
	w.t.danger[b] = none
	if o.line == a { // the line toward him who removed it, which alone he can have blocked back
		w.t.lines[o.line].bbIn, w.t.lines[o.line].bbOut = none, none
	}
}

// cancel is A's 3-5: row 24. What it does waits for its repetition; the offer it cancels is closed.
func (w *work) cancel(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	w.t.offer[a] = nil
	if ln.stands == idle {
		w.meaningless(a, g, code, a)
		return
	}
	w.waits(a, g, code, a)
	w.took(a, g, Signal{Key: code.Key, Sense: Own, Section: w.section(a), Did: Cancelled, Train: ln.train0()})
}

// cancelled is B's repetition of 3-5: the line is free, whatever is still on it in truth.
func (w *work) cancelled(o *open, g *group) {
	ln := &w.t.lines[o.line]
	if w.cancelledWithTrain(ln) {
		w.breaks("R44", o.line, o.line, o.first)
	}
	for i := 0; i < len(ln.trains); {
		if t := &ln.trains[i]; t.out() || t.left.IsZero() {
			ln.remove(i)
			continue
		}
		ln.change(i).given = true
		i++
	}
	ln.second, ln.runaway, ln.assist = nil, false, none
	w.settles(o.line, g.first)
}

// isTrolley tells whether a trolley is on the line: it has no tail lamp, and its ganger says when it is off.
func (l *line) isTrolley() bool { return l.offer != nil && l.offer.code.Key == trolleyCode }

// cancelledWithTrain is R44: the train is still in the section. A trolley's 3-5 says that it has been taken off.
func (w *work) cancelledWithTrain(ln *line) bool {
	if ln.isTrolley() {
		return false
	}
	for i := range ln.trains {
		if t := &ln.trains[i]; !t.given && !t.left.IsZero() && !t.out() {
			return true
		}
	}
	return false
}

// misdescribed is A's 5-3: row 25. The right code follows when it has been repeated.
func (w *work) misdescribed(a int, g *group, code *Code) {
	w.t.offer[a] = nil
	if w.t.lines[a].stands == idle {
		w.meaningless(a, g, code, a)
		return
	}
	w.across(a, g, code, a)
}
