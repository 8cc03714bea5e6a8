package block

// turn is B turning the handle of the line leaving end l: rows 10 to 12. What needle and bell must agree upon within
// the settling time is the reviewer's to judge; here stand only what the apparatus holds and what is wrong at once.
func (absolute) turn(w *work, b, l int, show Aspect) error {
	ln := &w.t.lines[l]
	if b == l {
		return ErrNotYours // nothing but the handle of the box in advance moves the needle and its repeater
	}
	if show != Blocked && show != Clear && show != Occupied {
		return ErrNoSense
	}
	if ln.shows == show {
		return nil // already there: no act
	}
	if why := w.handleHeld(ln, show); why != "" {
		w.refuse(why)
		return nil
	}
	w.actsOnSlip(b, l, show)
	w.judgeTurn(ln, b, l, show)
	if w.t.dead {
		w.needleSpeaks(ln, l, show)
	}
	w.moves(ln, l, show)
	return nil
}

// moves puts needle and repeater to what the handle says.
func (w *work) moves(ln *line, l int, show Aspect) {
	ln.shows, ln.moved = show, w.e.At
	switch show {
	case Clear:
		ln.pulled, ln.passedOn = false, false
	case Blocked:
		ln.released = false
		if ln.assist != none && ln.stands <= ofw {
			ln.assist = none // B says that no engine is left
		}
	}
	w.change(Change{Indicator: &Shown{Section: w.section(l), Aspect: show}})
}

// handleHeld is what holds the handle at this level of apparatus (absolute-block reference, 5).
func (w *work) handleHeld(ln *line, show Aspect) Reason {
	if w.p.level == Free || w.p.level == "" {
		return ""
	}
	if show == Clear && ln.shows == Occupied {
		return Sequence
	}
	if w.p.level != Interlocked {
		return ""
	}
	switch {
	case show == Clear && ln.home:
		return HomeNotOn
	case show == Clear && berthTaken(ln):
		return BerthTaken
	case show == Blocked && ln.shows == Occupied && !ln.released && trainNotOut(ln):
		return TrainNotOut
	case show == Blocked && ln.shows == Occupied && !ln.released && ln.home:
		return HomeNotOn
	}
	return ""
}

// berthTaken tells whether a train stands on the berth track circuit at B's home signal.
func berthTaken(ln *line) bool {
	for i := range ln.trains {
		if o := &ln.trains[i]; !o.out() && o.seen == Stands {
			return true
		}
	}
	return false
}

// trainNotOut tells whether a train that went in has not yet worked the circuit or treadle beyond the home signal.
func trainNotOut(ln *line) bool {
	for i := range ln.trains {
		if o := &ln.trains[i]; !o.left.IsZero() && !o.shunt && !o.out() && !o.incomplete() {
			return true
		}
	}
	return false
}

// judgeTurn lays a turn to a rule that shows at once.
func (w *work) judgeTurn(ln *line, b, l int, show Aspect) {
	switch {
	case w.testing(w.e.At), ln.broken:
	case ln.stands == doubt && (show == Clear || show == Blocked) && !ln.doubted:
		ln.doubted = true
		w.breaks("R43", b, l, w.e.At)
	case ln.stands == ofw && show == Clear:
		w.breaks("R20", b, l, w.e.At) // warning-needle-early
	}
}

// actsOnSlip is R05: B turns the needle as if the repetition had been right, though it was not exact. The signal
// then counts as answered.
func (w *work) actsOnSlip(b, l int, show Aspect) {
	s := w.t.slip
	if s == nil || s.of.line != l || calls(s.of.code) != show {
		return
	}
	if s.of.code.Train {
		w.goesOn(l, w.e.At)
		return
	}
	if w.t.other[1-s.by] != s.of {
		return
	}
	w.answerNotExact(s)
	w.t.other[1-s.by] = nil
	w.bind(s.by, s.of, &group{beats: s.of.code.Beats, first: s.first})
}

// calls is the needle that the answer to a signal calls for; empty where it calls for none.
func calls(c *Code) Aspect {
	switch {
	case c.Train:
		return Clear
	case c.Key == enteringSection, c.Key == blockBackInside, c.Key == blockBackOutside, c.Key == shuntForward:
		return Occupied
	case c.Key == outOfSection, c.Key == obstructionGone, c.Key == cancelling, c.Key == shuntWithdrawn:
		return Blocked
	}
	return ""
}

// needleSpeaks is the needle moving the standing while the bells have failed and the words go by telephone: clear is
// the acceptance, occupied the train on line, blocked the 2-1.
func (w *work) needleSpeaks(ln *line, l int, show Aspect) {
	b := 1 - l
	switch {
	case show == Clear && ln.stands <= ofw:
		o := &open{code: anyTrain, first: w.e.At, line: l}
		w.judgeAcceptance(b, o, w.e.At)
		w.accepted(o, w.e.At)
	case show == Occupied && (ln.stands == acc || ln.stands == acw):
		ln.stands = lin
	case show == Blocked && ln.stands >= ent:
		w.judgeOut(b, l, w.e.At)
		w.giveUp(l, w.e.At)
	}
}

// anyTrain is a train described by telephone: the needle tells no class.
var anyTrain = &Code{Key: "by-telephone", Means: "train described by telephone", Train: true, Bearing: ToAdvance}
