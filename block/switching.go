package block

// turnSwitch is a box opening or closing by its switch. To open is to take duty, to close to leave it. The sections on
// either side join into one when the box goes out, and part when it comes back.
func (a *act) turnSwitch() error {
	n, ok := a.r.boxNo[a.e.By]
	if !ok {
		return ErrNoSuchBox
	}
	if !a.r.boxes[n].Switch {
		return ErrNoSwitch
	}
	opens := !a.e.Off
	if a.s.boxes[n].open == opens {
		return ErrCutOut
	}
	before := a.working(n)
	if a.tokenOut(before) || a.tokenOut(a.longOver(n)) {
		a.out.Ending, a.out.Why = Refused, SwitchLocked
		return nil
	}
	if !opens {
		a.judgeClosing(n, before)
	} else {
		a.judgeOpening(n)
	}
	longBefore := a.longOver(n)
	b := a.s.box(n)
	b.open, b.duty, b.since = opens, opens, a.e.At
	if opens {
		a.part(n, longBefore)
	} else {
		a.join(n, before)
	}
	a.out.Changes = append(a.out.Changes,
		Change{Switched: &InOut{Box: a.e.By, Open: opens}}, Change{Duty: &OnDuty{Box: a.e.By, On: opens}})
	return nil
}

// tokenOut tells whether a token of one of the circuits is out: it locks the switches of the boxes at its ends and
// between them (other-methods reference, 2.7).
func (a *act) tokenOut(circuits []int) bool {
	for _, n := range circuits {
		if a.s.circuits[n].talk.token.out {
			return true
		}
	}
	return false
}

// working lists the circuits that box n works at this moment.
func (a *act) working(n int) []int {
	var out []int
	for _, c := range a.r.boxes[n].circuits {
		if a.s.works(&a.r.circuits[c]) {
			out = append(out, c)
		}
	}
	return out
}

// longOver lists the circuits that work past box n at this moment.
func (a *act) longOver(n int) []int {
	var out []int
	for c := range a.r.circuits {
		p := &a.r.circuits[c]
		for _, b := range p.between {
			if b == n && a.s.works(p) {
				out = append(out, c)
			}
		}
	}
	return out
}

// judgeClosing lays a closing to OC-01, with anything in force, or OC-02, with a neighbour who has not acknowledged.
func (a *act) judgeClosing(n int, circuits []int) {
	for _, c := range circuits {
		if t := a.s.circuits[c].talk; !t.idle() {
			a.breaks("OC-01", n)
			return
		}
	}
	for _, c := range circuits {
		p := &a.r.circuits[c]
		if p.kind == permissiveName {
			continue // its bells go with those of the main lines
		}
		if t := a.s.circuits[c].talk; t.ending[p.end(n)].closing != bound && a.s.boxes[p.other(n)].duty {
			a.breaks("OC-02", n)
			return
		}
	}
}

// judgeOpening lays an opening to OC-03: a train is between the boxes on either side.
func (a *act) judgeOpening(n int) {
	for _, c := range a.longOver(n) {
		t := a.s.circuits[c].talk
		for l := range t.lines {
			if t.lines[l].stands >= ent || len(t.lines[l].trains) > 0 {
				a.breaks("OC-03", n)
				return
			}
		}
	}
}

func (a *act) breaks(rule RuleID, box int) {
	if a.r.ignored == rule {
		return
	}
	a.out.Irregular = append(a.out.Irregular, Irregularity{Rule: rule, Box: a.r.boxes[box].ID, At: a.e.At})
}

// idle tells whether nothing is signalled, blocked back, shunted or held on the circuit.
func (t *talk) idle() bool {
	for l := range t.lines {
		ln := &t.lines[l]
		if t.token.out || t.token.asked != [2]stage{} || ln.stands != idle || ln.belled() > 0 || ln.bbIn != none || ln.bbOut != none || ln.fwd != none {
			return false
		}
	}
	return true
}

// join carries what stood on the two sides of box n over to the long lines that now form.
func (a *act) join(n int, short []int) {
	for _, long := range a.longOver(n) {
		p := &a.r.circuits[long]
		a.clearAway(long)
		if withTokens(p.kind) {
			continue // no token goes over from one set of instruments to the other
		}
		c := a.s.circuit(long)
		for l := range p.sections {
			for _, s := range short {
				if q := &a.r.circuits[s]; p.joins(q) && q.sections[l] >= 0 {
					c.talk.lines[l] = over(c.talk.lines[l], a.s.circuits[s].talk.lines[l])
				}
			}
		}
	}
	for _, s := range short {
		a.clearAway(s)
	}
}

// joins tells whether q is one of the two short circuits of the long circuit p: they share a box at the end.
func (p *circuitPlan) joins(q *circuitPlan) bool {
	return p.boxes[0] == q.boxes[0] && p.boxes[1] != q.boxes[1] || p.boxes[1] == q.boxes[1] && p.boxes[0] != q.boxes[0]
}

// over joins two short lines: what stands on either stands on both, the graver standing first.
func over(x, y line) line {
	if y.stands > x.stands {
		x, y = y, x
	}
	x.trains = append(x.trains[:len(x.trains):len(x.trains)], y.trains...)
	return x
}

// part gives what stood on a long line to the short line on the far side of the box that has opened; the near one is
// idle and blocked (absolute-block reference, 10, "Opening with a train between").
func (a *act) part(n int, long []int) {
	for _, s := range a.working(n) {
		a.clearAway(s)
	}
	for _, lg := range long {
		p := &a.r.circuits[lg]
		for _, s := range a.working(n) {
			q := &a.r.circuits[s]
			if !p.joins(q) || withTokens(q.kind) {
				continue
			}
			l := q.end(n) // the line that leaves the opened box is the one on the far side
			if p.sections[l] >= 0 && q.sections[l] >= 0 {
				c := a.s.circuit(s)
				c.talk.lines[l] = a.s.circuits[lg].talk.lines[l]
			}
		}
		a.clearAway(lg)
	}
}

// clearAway puts a circuit that has just begun or ceased to work back to normal. Its tokens stay in their instruments.
func (a *act) clearAway(n int) {
	c := a.s.circuit(n)
	keys, in := c.keys, c.talk.token.in
	*c = circuitState{talk: fresh()}
	c.talk.token.in = in
	for k := range keys {
		c.keys[k].hand = keys[k].hand
	}
}

// fresh is a circuit on which nothing has been said: every needle at line blocked.
func fresh() *talk {
	t := &talk{}
	for l := range t.lines {
		t.lines[l].shows = Blocked
	}
	return t
}
