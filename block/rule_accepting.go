package block

import "time"

// accept is B's exact repetition of an offer: row 5.
func (w *work) accept(b int, o *open, g *group) Effect {
	ln := &w.t.lines[o.line]
	if o.mends && ln.offer != nil { // else that train has been given up meanwhile
		mended := *ln.offer
		mended.code = o.code
		ln.offer = &mended
		return Mended
	}
	if ln.again(o.code) || o.again && ln.stands >= acc {
		return Accepted
	}
	w.judgeAcceptance(b, o, g.first)
	w.accepted(o, g.first)
	return Accepted
}

// accepted makes the offer an acceptance: the line's own, or one kept beside it until the train before is out.
func (w *work) accepted(o *open, at time.Time) {
	ln := &w.t.lines[o.line]
	a := &acceptance{code: o.code, first: o.first, at: at, train: o.train}
	if ln.stands >= acc {
		ln.second = a
		return
	}
	ln.stands, ln.offer, ln.used = acc, a, false
	ln.warned = false
}

// judgeAcceptance lays an acceptance to the first rule that fits, in the order of the reference.
func (w *work) judgeAcceptance(b int, o *open, at time.Time) {
	ln := &w.t.lines[o.line]
	w.acceptedInPossession(b, o.line, at)
	switch {
	case w.againstDanger(b):
		w.breaks("R58", b, o.line, at)
	case acceptedInBlockingBack(ln):
		w.breaks("R15", b, o.line, at)
	case assistNotBack(ln):
		w.breaks("R37", b, o.line, at)
	case w.acceptedWhileOccupied(ln):
		w.breaksAs("R13", occupiedHow(ln), b, o.line, at)
	case ln.stands >= acc:
		w.breaks("R16", b, o.line, at) // accepted-twice
	case acceptedFoul(ln):
		w.breaks("R14", b, o.line, at)
	}
	if w.loadsClash(o) {
		w.breaks("R24", b, o.line, at)
	}
}

// acceptedInBlockingBack is R15: B has blocked back itself; its own 2-4 or 3-3 binds it from the first beat.
func acceptedInBlockingBack(ln *line) bool { return ln.bbIn != none || ln.bbOut != none }

// assistNotBack is R37: the train is out but the needle was left at train on line, because the engine that assisted
// it is still in the section.
func assistNotBack(ln *line) bool {
	return ln.assist != none && ln.stands <= ofw && ln.shows == Occupied
}

// acceptedWhileOccupied is R13: by bell a train is in the section, or B has seen one stand at his home signal or go
// by incomplete that a false 2-1 gave up.
func (w *work) acceptedWhileOccupied(ln *line) bool {
	return ln.stands >= ent || ln.fwd != none || givenUpInSight(ln)
}

// givenUpInSight tells whether a train was given up by 2-1 or 3-5 that B has seen stand at his home signal, or go by
// incomplete.
func givenUpInSight(ln *line) bool {
	for i := range ln.trains {
		if o := &ln.trains[i]; o.given && !o.out() && (o.seen == Stands || o.incomplete()) {
			return true
		}
	}
	return false
}

// occupiedHow is R13's severity: irregular only where the train had gone by whole and its 2-1 alone was late.
func occupiedHow(ln *line) Severity {
	if i := ln.train(""); ln.stands != doubt && i >= 0 && ln.trains[i].out() {
		return Irregular
	}
	return ""
}

// acceptedFoul is R14: something B can see stands or moves within the clearing point or outside the home signal. A
// train that arrived short of the clearing point and was given up counts.
func acceptedFoul(ln *line) bool {
	if ln.foul != "" {
		return true
	}
	for i := range ln.trains {
		if o := &ln.trains[i]; o.given && o.seen == Arrives && !o.out() {
			return true
		}
	}
	return false
}

// loadsClash is R24: an exceptional load accepted against one on the other line that may not pass it.
func (w *work) loadsClash(o *open) bool {
	other := &w.t.lines[1-o.line]
	if other.stands < acc || other.offer == nil {
		return false
	}
	mine, his := loadOf(o.code.Key), loadOf(other.offer.code.Key)
	return mine > 0 && his > 0 && (mine > 1 || his > 1)
}

// loadOf is the kind of exceptional load a code announces: 1 may pass another of its kind, 2 and 3 may not.
func loadOf(k CodeKey) int {
	switch k {
	case "load-1":
		return 1
	case "load-2":
		return 2
	case "load-3":
		return 3
	}
	return 0
}

// warn is 3-5-5 rung by the box at end b: row 7. It is the answer to an offer that can only be accepted under
// regulation 5, and means nothing else.
func (w *work) warn(b int, g *group, code *Code) {
	l := 1 - b
	ln := &w.t.lines[l]
	o := w.t.offer[l]
	if o == nil || ln.stands != off && ln.stands != ofw {
		w.meaningless(b, g, code, -1)
		return
	}
	w.judgeWarning(b, o, g.first)
	ln.stands = ofw
	w.waits(b, g, code, l)
	w.took(b, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: Warning, To: o.first, Train: o.train})
}

func (w *work) judgeWarning(b int, o *open, at time.Time) {
	ln := &w.t.lines[o.line]
	switch {
	case w.againstDanger(b):
		w.breaks("R58", b, o.line, at)
	case ln.bbOut != none || ln.fwd != none:
		w.breaks("R15", b, o.line, at)
	case w.warningNotAuthorised(o):
		w.breaksAs("R19", passengers(o.code), b, o.line, at)
	}
}

// warningNotAuthorised is R19. A trolley through a tunnel is always answered so.
func (w *work) warningNotAuthorised(o *open) bool {
	return o.code.Key != trolleyCode && !w.mayWarn(o.line, o.code)
}

// passengers makes a rule dangerous for a train that carries them.
func passengers(c *Code) Severity {
	if c.Passengers {
		return Dangerous
	}
	return ""
}

// acceptWarned is A's 3-5-5 in answer: row 8. The warning stands.
func (w *work) acceptWarned(o *open, g *group) Effect {
	ln := &w.t.lines[o.line]
	if ln.stands != ofw {
		return Across
	}
	a := *ln.offer
	a.at, a.warning = g.first, true
	ln.offer, ln.stands, ln.used, ln.warned = &a, acw, false, false
	w.t.offer[o.line] = nil
	return AcceptedW
}
