package block

// emergency works the signals that have no column, rows 26 to 34: they are written across the page.
func (w *work) emergency(x int, g *group, code *Code) {
	l := x // toward the box in advance, unless the book sends it to the box in rear
	if code.Bearing == ToRear {
		l = 1 - x
	}
	if !w.has(l) {
		l = 1 - l
	}
	ln := &w.t.lines[l]
	switch code.Key {
	case obstructionDanger:
		w.danger(x, g, code)
		return
	case testingCode:
		w.test(x, g, code)
		return
	case unusuallyLong:
		if ln.stands < ent && w.t.lines[1-l].stands >= ent {
			l = 1 - l
			ln = &w.t.lines[l]
		}
		if ln.stands < ent {
			w.meaningless(x, g, code, l)
			return
		}
	case stopAndExamine, shuntForFollowing:
		if ln.stands < acc && !(code.Key == shuntForFollowing && ln.stands == ofw) {
			w.meaningless(x, g, code, l)
			return
		}
	case noTailLampRear:
		if ln.stands < ent {
			w.meaningless(x, g, code, l)
			return
		}
		if ln.stands == lin {
			ln.stands = doubt
		}
	case runawayRight, runawayWrong:
		w.runAway(ln, l)
	}
	w.across(x, g, code, l)
}

// danger is 6, obstruction danger: at once, before anything else. It binds its sender from the first beat and the
// other box when it has answered, on both lines.
func (w *work) danger(x int, g *group, code *Code) {
	if w.t.danger[x] == none {
		w.t.danger[x] = given
	}
	w.across(x, g, code, w.nearest(x))
}

// nearest is the line that concerns a signal for both lines most: the one toward its sender, where there is one.
func (w *work) nearest(x int) int {
	if w.has(1 - x) {
		return 1 - x
	}
	return x
}

// runAway is vehicles running away toward the box that hears of it: the line is taken, whatever it stood at.
func (w *work) runAway(ln *line, l int) {
	ln.stands, ln.runaway = lin, true
	w.t.offer[l] = nil
}

// test is 16: bells and instruments tested. R64 if a train is signalled on either line.
func (w *work) test(x int, g *group, code *Code) {
	for l := range w.t.lines {
		if w.has(l) && w.t.lines[l].stands != idle {
			w.breaks("R64", x, l, g.first) // tested-with-train
			break
		}
	}
	w.t.tested = g.first
	w.across(x, g, code, -1)
}

// farewell is 5-5-5, 7-5-5 or 5-5-7: a box opening or closing.
func (w *work) farewell(x int, g *group, code *Code) {
	f := &w.t.ending[x]
	if code.Key == openingCode {
		f.opening, f.closing = given, none
	} else {
		f.closing, f.opening = given, none
	}
	w.across(x, g, code, -1)
}
