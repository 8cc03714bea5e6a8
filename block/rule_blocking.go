package block

// blockBack is B's 2-4 or 3-3: something will stand on the clearing point, or outside the home signal. It binds B
// from its first beat, A from its answer.
func (w *work) blockBack(b int, g *group, code *Code) {
	l := 1 - b
	if !w.has(l) {
		w.meaningless(b, g, code, -1)
		return
	}
	ln := &w.t.lines[l]
	inside := code.Key == blockBackInside
	if w.blockedBackTooLate(ln, inside) {
		w.breaksAs("R51", tooLate(ln, inside), b, l, g.first)
	}
	if inside && ln.bbIn == none {
		ln.bbIn = given
	}
	if !inside && ln.bbOut == none {
		ln.bbOut = given
	}
	w.across(b, g, code, l)
}

// blockedBackTooLate is R51: a train is accepted or on line. A train under regulation 5 may come while the clearing
// point is fouled.
func (w *work) blockedBackTooLate(ln *line, inside bool) bool {
	return ln.stands >= acc && !(inside && ln.stands == acw)
}

// tooLate is R51's severity: no more than told where the line is blocked back inside for the very train that has
// arrived and not yet been given up.
func tooLate(ln *line, inside bool) Severity {
	i := ln.train("")
	if inside && i >= 0 && (ln.trains[i].out() || ln.trains[i].seen == Arrives || ln.trains[i].seen == Heads) {
		return Tell
	}
	return ""
}

// foul is the truth about B's line: something stands within the clearing point or outside the home signal.
func (absolute) foul(w *work, b, l int) error {
	ln := &w.t.lines[l]
	if w.e.Off {
		ln.foul = ""
		return nil
	}
	switch w.e.Where {
	case Inside, Moving, Outside:
	default:
		return ErrNoSense
	}
	ln.foul = w.e.Where
	switch {
	case fouledOutside(ln):
		w.breaks("R50", b, l, w.e.At)
	case fouledAgainstAccepted(ln):
		w.breaks("TM-02", b, l, w.e.At)
	}
	return nil
}

// fouledOutside is R50: outside the home signal before 3-3 has been answered.
func fouledOutside(ln *line) bool { return ln.foul == Outside && ln.bbOut != bound }

// fouledAgainstAccepted is TM-02: a move within the clearing point of a train that is accepted, and not under regulation 5,
// which looks to the home signal only. What has come to stand there may be nobody's act, and six beats see to it.
func fouledAgainstAccepted(ln *line) bool {
	return ln.foul == Moving && (ln.stands == acc || ln.stands == ent)
}

// shuntAhead is A's 3-3-2.
func (w *work) shuntAhead(a int, g *group, code *Code) {
	if !w.has(a) {
		w.meaningless(a, g, code, -1)
		return
	}
	ln := &w.t.lines[a]
	if !w.r.boxes[w.p.boxes[a]].ForwardShunt(w.id(1 - a)) {
		w.breaks("R54", a, a, g.first) // forward-not-authorised
	}
	if ln.fwd == none {
		ln.fwd = given
	}
	w.across(a, g, code, a)
}

// grantForward is B's repetition of 3-3-2.
func (w *work) grantForward(b int, o *open) {
	ln := &w.t.lines[o.line]
	if ln.stands >= acc {
		w.breaks("R57", b, o.line, w.e.At) // forward-wrongly-granted
	}
	ln.fwd = bound
}

// withdraw is A's 8: the shunt is back inside.
func (w *work) withdraw(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	if ln.fwd == none {
		w.meaningless(a, g, code, a)
		return
	}
	if withdrawnNotSo(ln) {
		w.breaksAs("R56", Dangerous, a, a, g.first)
	}
	w.across(a, g, code, a)
}

// withdrawnNotSo is R56: the shunt is still ahead.
func withdrawnNotSo(ln *line) bool {
	for i := range ln.trains {
		if ln.trains[i].shunt {
			return true
		}
	}
	return false
}
