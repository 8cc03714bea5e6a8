package block

import "time"

// onward is a line that leaves a box away from the circuit being worked, as its own circuit has it.
type onward struct {
	p *circuitPlan
	t *talk
	l int // its place in talk.lines
	x int // the end at which the box stands
}

// onwards lists the lines on which a train that comes to end x of this circuit can go on without turning back.
func (w *work) onwards(x int) []onward {
	var out []onward
	box := w.p.boxes[x]
	for _, n := range w.r.boxes[box].circuits {
		p := &w.r.circuits[n]
		e := p.end(box)
		if e != 1-x || !w.s.works(p) {
			continue
		}
		l := e
		if withTokens(p.kind) {
			l = singleLine
		}
		if p.sections[l] >= 0 {
			out = append(out, onward{p: p, t: w.s.circuits[n].talk, l: l, x: e})
		}
	}
	return out
}

// away tells whether what the line stands at is a train from this box.
func (o *onward) away() bool { return !withTokens(o.p.kind) || o.t.token.from == o.x }

// judgeClose lays an acceptance by the box at end x, next to which another is very near, to SS-01 or SS-02.
func (w *work) judgeClose(x int, o *open, at time.Time) {
	if !o.code.Train || o.mends {
		return
	}
	ahead := w.onwards(x)
	switch {
	case w.acceptedBeforeAhead(x, o, ahead):
		w.breaks("SS-01", x, o.line, at)
	case w.clearingPointTakenAhead(x, ahead):
		w.breaks("SS-02", x, o.line, at)
	}
}

// acceptedBeforeAhead is SS-01: the box accepts only with line clear from the box ahead, and had none for that train.
func (w *work) acceptedBeforeAhead(x int, o *open, ahead []onward) bool {
	if w.r.boxes[w.p.boxes[x]].Accepts != "beyond" || len(ahead) == 0 {
		return false
	}
	for _, a := range ahead {
		if ln := &a.t.lines[a.l]; a.away() && (ln.stands == acc || ln.stands == acw) && ln.offer.code.Key == o.code.Key {
			return false
		}
	}
	return true
}

// clearingPointTakenAhead is SS-02: the clearing point lies inside the next box's home signal, and on the way there is a
// train, or the next box has blocked back. What only the next box sees is not held against this one.
func (w *work) clearingPointTakenAhead(x int, ahead []onward) bool {
	b := &w.r.boxes[w.p.boxes[x]]
	if b.Accepts != "clearing" {
		return false
	}
	for _, a := range ahead {
		far := &w.r.boxes[a.p.boxes[1-a.x]]
		if b.Clearing-b.Home <= w.r.sections[a.p.sections[a.l]].yards-far.Home {
			continue // it ends before that home signal
		}
		ln := &a.t.lines[a.l]
		if ln.stands >= ent || ln.bbIn != none || ln.bbOut != none || ln.stands >= acc && !a.away() {
			return true
		}
	}
	return false
}
