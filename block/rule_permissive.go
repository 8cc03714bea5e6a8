package block

import "time"

// judgeAcceptBehind lays an acceptance to the first rule that fits. A train accepted before and not yet gone counts as
// in.
func (w *work) judgeAcceptBehind(b int, o *open, at time.Time, occupied bool) {
	ln := &w.t.lines[o.line]
	in := ln.held()
	if ln.stands == acc && !ln.used {
		in++
	}
	switch {
	case w.againstDanger(b):
		w.breaks("R58", b, o.line, at)
	case acceptedInBlockingBack(ln):
		w.breaks("R15", b, o.line, at)
	case permissivePassenger(ln, o.code, in):
		w.breaks("PM-01", b, o.line, at)
	case w.permissiveTooMany(o.line, in):
		w.breaks("PM-03", b, o.line, at)
	case w.permissiveAnswerWrong(o.line, in, occupied):
		w.breaks("PM-02", b, o.line, at)
	}
}

// permissivePassenger is PM-01: a passenger train let in with another, or another with it.
func permissivePassenger(ln *line, code *Code, in int) bool {
	return in > 0 && (coaching(code) || ln.holdsCoaching() || ln.stands == acc && ln.offer != nil && coaching(ln.offer.code))
}

// permissiveTooMany is PM-03: the line is full.
func (w *work) permissiveTooMany(l, in int) bool { return in >= w.capacity(l) }

// permissiveAnswerWrong is PM-02: the form of the answer is not that for an empty line, or for an occupied one. Where
// the class code is repeated in either case, the count alone tells.
func (w *work) permissiveAnswerWrong(l, in int, occupied bool) bool {
	if in == 0 {
		return occupied
	}
	return !occupied && w.r.sections[w.p.sections[l]].Answer == occupiedAnswer
}

// judgeEnterBehind lays a 2 to the first rule that fits. i is the train it belongs to, -1 if none was seen to go.
func (w *work) judgeEnterBehind(a, i int, at time.Time) {
	ln := &w.t.lines[a]
	switch {
	case i >= 0 && ln.trains[i].accepted, ln.stands == acc && !ln.used:
	case ln.holdsCoaching():
		w.breaks("PM-01", a, a, at)
	case w.permissiveTooMany(a, ln.held()):
		w.breaks("PM-03", a, a, at)
	default:
		w.breaks("R34", a, a, at)
	}
}

// judgeLeavesBehind lays a train passing the signal into the line, or the pulling of that signal, to the first rule that
// fits, and tells whether one did.
func (w *work) judgeLeavesBehind(a int, as Severity) bool {
	ln := &w.t.lines[a]
	switch {
	case w.againstDanger(a):
		w.breaksAs("R58", as, a, a, w.e.At)
	case ln.stands == acc && !ln.used:
		return false
	case ln.holdsCoaching():
		w.breaksAs("PM-01", as, a, a, w.e.At)
	case w.permissiveTooMany(a, ln.held()):
		w.breaksAs("PM-03", as, a, a, w.e.At)
	default:
		w.breaksAs("R29", as, a, a, w.e.At)
	}
	return true
}

// permissiveOutForNothing is PM-05: no train to give up, or the first was not seen out with its tail lamp.
func permissiveOutForNothing(ln *line) bool {
	i := ln.firstOut()
	if i < 0 {
		return true
	}
	o := &ln.trains[i]
	return !o.out() && !(o.left.IsZero() && o.seen == "") // where nobody sees trains, nothing is inferred
}

// permissiveSetBack is PM-07: a train came back to the box in rear, and the box in advance had not been told by 3-3.
func permissiveSetBack(ln *line) bool { return ln.bbOut != bound }
