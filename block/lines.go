package block

// LineState is one line as it stands, for whoever looks on the whole district: the end of played notes, the reviewer,
// the instructor. No box sees so much.
type LineState struct {
	Section  Section
	Shows    Aspect
	Count    int
	Standing string // as the notes form prints it: IDLE, LINE+danger, …
	// The same in parts.
	Offered    bool // an offer stands, not accepted yet
	Accepted   bool // a train is accepted and has not been signalled as entering
	Warning    bool // … under regulation 5
	InSection  bool // a train is in the section by bell, known whole or not
	Doubt      bool // it is not known to be whole
	Inside     bool // blocked back inside the home signal, 2-4 rung
	InsideTold bool // … and acknowledged
	Outside    bool // blocked back outside it, 3-3 rung
	OutTold    bool // … and acknowledged
	Forward    bool // a shunt is in the forward section
	Danger     bool // obstruction danger is in force
	Assist     bool // an assisting engine is out
	Token      TokenState
	Foul       Place
	Signal     bool // the section signal is off
	Home       bool // the home signal of the box in advance is off
	BellDead   bool
	NeedleDead bool
	Engineers  bool // the line is given up to the engineers
	Pilotman   bool // a pilotman works in place of it
	Seen       int  // trains that were seen to go into the section and not yet out of it
}

// TokenState is where the tokens of a line are; of a line without tokens it is empty.
type TokenState struct {
	In    map[BoxID]int // in the instrument of each end
	Out   bool          // one is out
	Shunt bool          // it was drawn by 5-2
	Box   BoxID         // whose hand it is in, or who handed it over
	Train TrainID       // with whom it is, if a train that was named has it
}

// Lines lists every line that is worked at this moment, in layout order.
func (r *Rules) Lines(s State) []LineState {
	var out []LineState
	for n := range r.circuits {
		p := &r.circuits[n]
		if !s.works(p) {
			continue
		}
		for l, sec := range p.sections {
			if sec >= 0 {
				out = append(out, r.lineState(s.circuits[n].talk, p, l))
			}
		}
	}
	return out
}

// Line is one line as it stands, worked at this moment or not.
func (r *Rules) Line(s State, id SectionID) (LineState, bool) {
	sec, ok := r.sectionNo[id]
	if !ok {
		return LineState{}, false
	}
	n := r.sections[sec].circuit
	return r.lineState(s.circuits[n].talk, &r.circuits[n], leavesFrom(r.sections[sec].Line)), true
}

func (r *Rules) lineState(t *talk, p *circuitPlan, l int) LineState {
	ln := &t.lines[l]
	out := LineState{
		Section: r.section(p.sections[l]), Shows: ln.shows, Count: ln.count, Standing: p.method.standing(t, l),
		Offered: ln.stands == off || ln.stands == ofw, Accepted: ln.stands == acc || ln.stands == acw, Warning: ln.stands == acw,
		InSection: ln.stands >= ent, Doubt: ln.stands == doubt,
		Inside: ln.bbIn != none, InsideTold: ln.bbIn == bound, Outside: ln.bbOut != none, OutTold: ln.bbOut == bound,
		Forward: ln.fwd != none, Danger: t.danger[0] != none || t.danger[1] != none, Assist: ln.assist != none,
		Foul: ln.foul, Signal: ln.signal, Home: ln.home, BellDead: t.dead, NeedleDead: ln.broken,
		Engineers: ln.engineers.on, Pilotman: t.pilot.inForce() && t.pilot.road == l,
	}
	if p.kind == permissiveName {
		out.InSection = ln.held() > 0
	}
	if withTokens(p.kind) {
		r.tokensOf(&out, p, t)
	}
	for i := range ln.trains {
		if o := &ln.trains[i]; !o.left.IsZero() && !o.out() {
			out.Seen++
		}
	}
	return out
}

// OnDuty tells whether somebody is on duty in a box.
func (r *Rules) OnDuty(s State, box BoxID) bool {
	n, ok := r.boxNo[box]
	return ok && s.boxes[n].duty
}

// Works tells whether the two boxes of a circuit work with one another at this moment.
func (r *Rules) Works(s State, id CircuitID) bool {
	n, ok := r.circuitNo[id]
	return ok && s.works(&r.circuits[n])
}
