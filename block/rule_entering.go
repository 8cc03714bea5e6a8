package block

import "time"

// straight is how soon 2-2 must follow 2 once that has been answered.
const straight = 15 * time.Second

// enter is A's 2, train entering section: row 15.
func (w *work) enter(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	if w.answersAgain(a, g.first) {
		w.took(a, g, Signal{Key: code.Key, Sense: Answer, Section: w.section(1 - a), To: w.t.lines[1-a].entered})
		return
	}
	w.t.offer[a] = nil // an offer still open lapses
	w.goesOn(a, g.first)
	if ln.fwd == bound && ln.stands <= ofw {
		w.across(a, g, code, a) // it belongs to the shunt, where the signal is released by line clear
		return
	}
	i := ln.withoutTwo()
	if i < 0 || !ln.trains[i].found {
		w.judgeEntering(a, i, g.first)
	}
	if i < 0 && !ln.ringsAgain(w.t.other[a]) {
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{accepted: ln.stands == acc || ln.stands == acw})
		if ln.offer != nil {
			ln.trains[len(ln.trains)-1].id = ln.offer.train
		}
		i = len(ln.trains) - 1
	}
	if i >= 0 {
		ln.change(i).two = g.first
	}
	if ln.stands < ent {
		ln.stands = ent
	}
	ln.entered = g.first
	w.waits(a, g, code, a)
	w.took(a, g, Signal{Key: code.Key, Sense: Own, Section: w.section(a), Did: Entering, Train: ln.idOf(i)})
}

// answersAgain tells whether a 2 is the answer to the other box's 2 given once more (row 16), and not the sender's own:
// he has answered one within the last minute, and nothing of his own is accepted.
func (w *work) answersAgain(x int, at time.Time) bool {
	mine, his := &w.t.lines[x], &w.t.lines[1-x]
	return mine.stands <= ofw && len(mine.trains) == 0 && mine.fwd == none &&
		(his.stands == lin || his.stands == doubt) && at.Sub(his.entered) <= repeatWithin
}

// withoutTwo finds the oldest train still in the section for which 2 has not been rung.
func (l *line) withoutTwo() int {
	for i := range l.trains {
		o := &l.trains[i]
		if o.two.IsZero() && !o.given && !o.shunt && !(o.out() && !o.accepted) {
			return i
		}
	}
	return -1
}

// ringsAgain tells whether 2 is only repeated, because it was not answered.
func (l *line) ringsAgain(o *open) bool { return o != nil && o.code.Key == enteringSection }

func (l *line) idOf(i int) TrainID {
	if i < 0 {
		return ""
	}
	return l.trains[i].id
}

// judgeEntering lays a 2 to the first rule that fits. i is the train it belongs to, -1 if none has been seen to go.
func (w *work) judgeEntering(a, i int, at time.Time) {
	ln := &w.t.lines[a]
	switch {
	case ln.ringsAgain(w.t.other[a]):
	case i >= 0 && ln.trains[i].accepted:
	case w.againstDanger(a):
		w.breaks("R58", a, a, at)
	case ln.stands <= acw && enteredBlockedBack(ln):
		w.breaks("R29", a, a, at)
	case enteringUnaccepted(ln):
		w.breaks("R34", a, a, at)
	}
}

// enteringUnaccepted is R34: 2 with nothing accepted. A second acceptance, itself irregular, counts.
func enteringUnaccepted(ln *line) bool {
	switch ln.stands {
	case acc, acw, ent:
		return false
	case lin:
		return ln.second == nil
	}
	return true
}

// enteredBlockedBack tells whether the line is blocked back against a train: inside the home signal only a train
// under regulation 5 may come.
func enteredBlockedBack(ln *line) bool {
	return ln.bbOut != none || ln.bbIn != none && ln.stands != acw
}

// entered is B's answer to 2: row 16.
func (w *work) entered(o *open) {
	if ln := &w.t.lines[o.line]; ln.stands == ent {
		ln.stands = lin
	}
}

// goesOn is a train that goes, or its 2, on an acceptance that was repeated wrongly: R05, laid to the box that
// repeated it. It stands as an acceptance of what A offered.
func (w *work) goesOn(a int, at time.Time) bool {
	s := w.t.slip
	ln := &w.t.lines[a]
	if s == nil || s.of.line != a || !s.of.code.Train || ln.stands != off {
		return false
	}
	w.answerNotExact(s)
	w.accepted(s.of, s.first)
	w.t.offer[a] = nil
	return true
}

// answerNotExact is R05: the answer was not the signal, and it was acted on all the same.
func (w *work) answerNotExact(s *slip) {
	w.t.slip = nil
	w.breaks("R05", s.by, s.of.line, s.first)
}

// assist is 2-2, engine assisting in rear of train: row 17. It comes straight after 2.
func (w *work) assist(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	w.across(a, g, code, a)
	if ln.stands != ent && (ln.stands != lin || g.first.Sub(ln.entered) > straight) {
		w.breaks("R36", a, a, g.first)
		return
	}
	ln.assist = given
}

// engineBack is 2-1-3: the engine that assisted has come back to A, or arrived at B.
func (w *work) engineBack(x int, g *group, code *Code) {
	l := x
	if w.t.lines[x].assist == none && w.t.lines[1-x].assist != none {
		l = 1 - x
	}
	w.across(x, g, code, l)
}

// lever is A's section signal pulled or put back: row 13. Of the box in advance it is the home signal.
func (absolute) lever(w *work, a, l int, back bool) error {
	ln := &w.t.lines[l]
	if a != l {
		w.home(ln, a, l, back)
		return nil
	}
	if !back {
		if why := w.leverHeld(ln, a); why != "" {
			w.refuse(why)
			return nil
		}
		w.judgePull(ln, a)
		ln.pulled = true
	}
	ln.signal = !back
	w.change(Change{Lever: &Pulled{Section: w.section(l), Off: !back}})
	return nil
}

// home is B's home signal pulled or put back. No block holds its lever: what the apparatus asks of it is that it be back
// before line clear (absolute-block reference, 5). A collar holds it.
func (w *work) home(ln *line, b, l int, back bool) {
	if !back && ln.collar[b] {
		w.refuse(Collared)
		return
	}
	ln.home = !back
	w.change(Change{Home: &Pulled{Section: w.section(l), Off: !back}})
}

// leverHeld is what holds the lever of the section signal at this level of apparatus.
func (w *work) leverHeld(ln *line, a int) Reason {
	switch {
	case ln.collar[a]:
		return Collared
	case w.p.level == Free || w.p.level == "":
		return ""
	case ln.shows != Clear:
		return NoLineClear
	case w.p.level == Interlocked && ln.pulled:
		return AlreadyUsed
	}
	return ""
}

// judgePull lays the pulling of a section signal to R29 or R30. With the signal put back before a train has passed
// it is irregular only; the train that passes is found of itself.
func (w *work) judgePull(ln *line, a int) {
	if ln.fwd != none || w.goesOn(a, w.e.At) {
		return
	}
	switch ln.stands {
	case idle, off, ofw:
		w.breaksAs("R29", Irregular, a, a, w.e.At)
	case acc, acw, lin, doubt:
		if ln.used && ln.second == nil {
			w.breaksAs("R30", Irregular, a, a, w.e.At)
		}
	}
}
