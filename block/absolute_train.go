package block

// train works the sighting of a train on the line leaving end l, or the truth about one.
func (absolute) train(w *work, l int) error {
	var err error
	switch w.e.Where {
	case Leaves:
		err = w.leaves(l)
	case Stands, Heads, Passes, Arrives, IsClear:
		err = w.sighted(l)
	case IsWhole:
		err = w.foundWhole(l)
	case Returns:
		err = w.returns(l)
	case Divides:
		err = w.divides(l)
	case Departs, WasIn, WasBy:
	default:
		return ErrNoSense
	}
	if err != nil {
		return err
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(l), Where: w.e.Where, Lamp: w.e.Lamp}})
	return nil
}

// leaves is a train passing A's section signal: row 14.
func (w *work) leaves(a int) error {
	ln := &w.t.lines[a]
	if i := ln.train(w.e.Train); w.e.Train != "" && i >= 0 && !ln.trains[i].left.IsZero() {
		return ErrNoTrain // it is in that section already
	}
	w.goesOn(a, w.e.At)
	o := occupant{id: w.e.Train, left: w.e.At}
	i := ln.believed()
	if i >= 0 { // 2 was rung before it went
		o.two, o.accepted = ln.trains[i].two, ln.trains[i].accepted
	}
	o.shunt = ln.fwd == bound && !withdrawnNotSo(ln) // another train beside the shunt is no shunt
	if !o.shunt {
		o.found = w.judgeLeaving(a, i)
		o.accepted = !o.found
		if w.t.pilot.inForce() {
			w.goesByPilot(a, a) // the bells go on as for any train
		}
	}
	if !o.found && !o.shunt {
		ln.useUp(i >= 0 && ln.trains[i].accepted)
	}
	ln.passedOn = true
	if i >= 0 {
		*ln.change(i) = o
		return nil
	}
	ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], o)
	return nil
}

// useUp spends the acceptance that a train goes on: the line's own, then the second. rung: its 2 has spent it already.
func (l *line) useUp(rung bool) {
	if l.used && !rung && l.second != nil {
		second := *l.second
		second.gone = true
		l.second = &second
	}
	l.used = true
}

// believed finds a train of which only 2 has spoken.
func (l *line) believed() int {
	for i := range l.trains {
		if o := &l.trains[i]; o.left.IsZero() && !o.given {
			return i
		}
	}
	return -1
}

// judgeLeaving lays a train passing the section signal to the first rule that fits, and tells whether one did. One
// acceptance serves one train: it is used up by the first to pass, whether or not 2 is rung.
func (w *work) judgeLeaving(a, believed int) bool {
	ln := &w.t.lines[a]
	rung := believed >= 0 && ln.trains[believed].accepted
	before := len(w.said.irregular)
	switch {
	case w.againstDanger(a):
		w.breaks("R58", a, a, w.e.At)
	case ln.stands <= acw && enteredBlockedBack(ln):
		w.breaks("R29", a, a, w.e.At)
	case w.failureWorking(ln):
	case ln.stands <= ofw, ln.offer == nil, ln.offer.at.IsZero():
		w.breaks("R29", a, a, w.e.At) // entered-unaccepted
	case ln.used && (ln.second == nil || ln.second.gone) && !rung, ln.stands == doubt:
		w.breaks("R30", a, a, w.e.At) // two-on-one-clear
	}
	return len(w.said.irregular) > before
}

// failureWorking tells whether bells and indicator have both failed: trains are then sent by time interval and by
// word of mouth, and nothing can be accepted.
func (w *work) failureWorking(ln *line) bool { return w.t.dead && ln.broken }

// sighted is B seeing a train of the line: rows 18, 19 and 20.
func (w *work) sighted(l int) error {
	ln := &w.t.lines[l]
	i := w.occupantSeen(ln)
	if i < 0 {
		return ErrNoTrain
	}
	w.comesWithPilot(1 - l)
	o := ln.change(i)
	o.sight(w.e)
	switch {
	case o.incomplete():
		if ln.stands >= acc {
			ln.stands = doubt
		}
	case o.out() && ln.stands >= acc && ln.stands != doubt && !o.given:
		ln.stands = lin // gone by whole: its 2-1 is due, 2 or no 2
	case o.out() && ln.stands == doubt:
		w.doubtEnds(ln, i) // 4-5 was rung before it was seen, and now it is seen whole
	case o.out() && o.given:
		ln.remove(i) // given up before its time, and now really out
	}
	return nil
}

// occupantSeen finds the train that B sees. Where nobody marked its going, the bells' own train is it, or the one
// that was accepted: 2 was forgotten.
func (w *work) occupantSeen(ln *line) int {
	if i := ln.train(w.e.Train); i >= 0 {
		return i
	}
	if i := ln.believed(); i >= 0 && (ln.trains[i].id == "" || w.e.Train == "") {
		return i
	}
	if ln.stands != acc && ln.stands != acw {
		return -1
	}
	ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{id: w.e.Train, accepted: true})
	ln.used = true
	return len(ln.trains) - 1
}

// foundWhole ends a doubt: the train has been found complete where it is. Row 21.
func (w *work) foundWhole(l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	o := ln.change(i)
	o.whole, o.parted = true, false
	w.doubtEnds(ln, i)
	return nil
}

// told is B hearing from guard, shunter or by telephone that the train is complete.
func (absolute) told(w *work, l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	ln.change(i).told = true
	w.doubtEnds(ln, i)
	return nil
}

// doubtEnds puts the line back to train on line once no train in it is doubted, and forgets a train that was given up
// and is out now.
func (w *work) doubtEnds(ln *line, i int) {
	if ln.trains[i].given && ln.trains[i].out() {
		ln.remove(i)
	}
	if ln.stands != doubt {
		return
	}
	for j := range ln.trains {
		if o := &ln.trains[j]; !o.given && o.incomplete() {
			return
		}
	}
	ln.stands = lin
}

// returns is a train that came back behind A's section signal, whole or in part.
func (w *work) returns(l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	if w.e.Off { // in part: the rest is still there
		ln.change(i).parted = true
		return nil
	}
	ln.remove(i)
	return nil
}

// divides is truth out of sight: no box can know it yet.
func (w *work) divides(l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	ln.change(i).parted = true
	return nil
}

// driver is a driver stopped or cautioned at A's signals before he goes.
func (absolute) driver(w *work, l int) error {
	if w.e.Where == Warned {
		w.t.lines[l].warned = true
	}
	return nil
}
