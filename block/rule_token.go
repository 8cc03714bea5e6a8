package block

import "time"

// tokenLineNotFree is TK-02: a train offered or accepted, or a token asked for, with an earlier train or token not in,
// or the line blocked back at either end.
func (w *work) tokenLineNotFree() bool { return w.taken() }

// judgeOfferSingle lays an offer by the box at end x to the first rule that fits.
func (w *work) judgeOfferSingle(x int, at time.Time) {
	if withStaff(w.p.kind) {
		w.judgeOfferStaff(x, at)
		return
	}
	switch {
	case w.againstDanger(x):
		w.breaks("R58", x, singleLine, at)
	case w.tokenLineNotFree():
		w.breaks("TK-02", x, singleLine, at)
	}
}

// judgeAcceptSingle lays an acceptance by the box at end x to the first rule that fits. With an obstruction of its own
// on the line it is the graver.
func (w *work) judgeAcceptSingle(x int, at time.Time) {
	tk := &w.t.token
	w.acceptedInPossession(x, singleLine, at)
	if withStaff(w.p.kind) {
		w.judgeAcceptStaff(x, at)
		return
	}
	switch {
	case w.againstDanger(x):
		w.breaks("R58", x, singleLine, at)
	case tk.blocked[x] != none || tk.foul[x] != "":
		w.breaksAs("TK-02", Dangerous, x, singleLine, at)
	case w.tokenLineNotFree():
		w.breaks("TK-02", x, singleLine, at)
	}
}

// releasedUnasked is TK-03: the last beat held down, and the other end has neither an offer accepted nor 5-2 answered.
func (w *work) releasedUnasked(x int) bool {
	tk := &w.t.token
	accepted := w.t.lines[singleLine].stands == acc && tk.from != x
	return !accepted && tk.asked[1-x] != bound
}

// judgeEnterSingle lays a 2 by the box at end x to TK-10, a train on a token drawn by 5-2, or to TK-07.
func (w *work) judgeEnterSingle(x int, at time.Time) {
	if withStaff(w.p.kind) {
		w.judgeEnterStaff(x, at)
		return
	}
	ln, tk := &w.t.lines[singleLine], &w.t.token
	switch {
	case ln.ringsAgain(w.t.other[x]):
	case tk.out && tk.shunt && tk.drawn == x:
		w.breaks("TK-10", x, singleLine, at) // shunting-token-used-for-train
	case tokenEnteringOutOfPlace(ln, tk, x, w.t.pilot.inForce()):
		w.breaks("TK-07", x, singleLine, at)
	}
}

// tokenEnteringOutOfPlace is TK-07: 2 with no token out for a train from that end, or for one that has come already. With
// a pilotman no token is wanted.
func tokenEnteringOutOfPlace(ln *line, tk *tokenState, x int, piloted bool) bool {
	if tk.from != x || ln.stands < acc {
		return true
	}
	if piloted {
		return false
	}
	return !tk.out || !tk.carried && tk.with != x // the train has given its token up at the other end
}

// judgeLeavesSingle lays a train passing the section signal at end x to TK-01 if its driver has not got the token of
// the section, and tells whether it did. If he has another's, that is TK-04, dated at its handing over.
func (w *work) judgeLeavesSingle(x int) bool {
	if w.t.pilot.inForce() {
		w.goesByPilot(x, singleLine) // the bells go on as for any train
		return w.t.lines[singleLine].stands < acc
	}
	if m, ok := w.p.method.(staff); ok {
		return w.judgeLeavesStaff(x, m)
	}
	if !w.enteredWithoutToken(x) {
		return false
	}
	w.breaks("TK-01", x, singleLine, w.e.At)
	w.wrongTokenHandedOver(x)
	return true
}

// enteredWithoutToken is TK-01. A token that came with a train from the other end is no authority to go back with: it is
// restored first (E9, T5).
func (w *work) enteredWithoutToken(x int) bool {
	tk := &w.t.token
	return !tk.out || !tk.carried || tk.drawn != x || tk.holder != "" && w.e.Train != "" && tk.holder != w.e.Train
}

// wrongTokenHandedOver is TK-04: the train that leaves has the token of another section in its driver's hand, which
// this box gave it.
func (w *work) wrongTokenHandedOver(x int) {
	for _, n := range w.r.boxes[w.p.boxes[x]].circuits {
		p, tk := &w.r.circuits[n], &w.s.circuits[n].talk.token
		if p.id != w.p.id && tk.out && tk.carried && tk.holder == w.e.Train && tk.with == p.end(w.p.boxes[x]) {
			w.breaks("TK-04", x, singleLine, tk.moved)
		}
	}
}

// judgeOutSingle is TK-08, tokenOutOfSectionOutOfPlace: 2-1 with no train to give up, with the token not in an
// instrument, or with the train not known to be whole.
func (w *work) judgeOutSingle(x int, at time.Time) {
	if withStaff(w.p.kind) {
		w.judgeOutStaff(x, at)
		return
	}
	ln, tk := &w.t.lines[singleLine], &w.t.token
	i := ln.comingTo(x)
	whole := i < 0 || ln.trains[i].inside() || ln.trains[i].left.IsZero() && ln.trains[i].seen == ""
	if i >= 0 && ln.trains[i].found && whole {
		return // it came without a token, which its going has been told of, and no token comes home with it
	}
	if ln.stands < ent && i < 0 || tk.from == x || tk.out && !w.t.pilot.inForce() || !whole {
		w.breaks("TK-08", x, singleLine, at)
	}
}

// restoredTooSoon is TK-09 as far as the act proves it: a train that was seen to go has not been seen to come, nor to
// go back. One that has been seen come and is not known whole is the reviewer's.
func (w *work) restoredTooSoon(x int) bool {
	ln := &w.t.lines[singleLine]
	for i := range ln.trains {
		o := &ln.trains[i]
		if o.left.IsZero() || o.given || o.inside() {
			continue
		}
		if o.seen == "" || o.from == x {
			return true
		}
	}
	return false
}

// cancelledWithTokenOut is TK-11: 3-5 for what it cannot end: a token out, a train in the section, or a 5-2 or 3-3 of
// one's own.
func cancelledWithTokenOut(ln *line, tk *tokenState, x int) bool {
	return tk.out || ln.stands >= ent && tk.from == x || tk.asked[x] != none || tk.blocked[x] != none
}

// signalClearedWithoutToken is TK-06: no token was drawn at that end, or its train has gone already.
func signalClearedWithoutToken(ln *line, tk *tokenState, x int) bool {
	if !tk.out || tk.drawn != x {
		return true
	}
	for i := range ln.trains {
		if o := &ln.trains[i]; o.from == x && !o.left.IsZero() && !o.given && !o.shunt {
			return true
		}
	}
	return false
}

// shuntedOutsideWithoutToken is TK-05: outside the home signal with no token drawn at that end, no 3-3 acknowledged and
// no train going away.
func (w *work) shuntedOutsideWithoutToken(x int) bool {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if tk.foul[x] != Outside || tk.out && tk.drawn == x || tk.blocked[x] == bound {
		return false
	}
	if ln.stands >= ent && tk.from == x {
		return false
	}
	for i := range ln.trains {
		if o := &ln.trains[i]; o.from == x && !o.left.IsZero() && !o.given {
			return false
		}
	}
	return true
}
