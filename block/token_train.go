package block

// train works the sighting of a train on the single line, or the truth about one.
func (keyToken) train(w *work, _ int) error {
	x, known := w.by()
	var err error
	switch w.e.Where {
	case Leaves:
		err = w.leavesSingle(x)
	case Stands, Heads, Passes, Arrives, IsClear:
		err = w.sightedSingle(x)
	case Returns:
		err = w.returnsSingle(x)
	case IsWhole, Divides:
		known = true
		err = w.wholeOrNot()
	case Departs, WasIn, WasBy:
	default:
		return ErrNoSense
	}
	if err != nil {
		return err
	}
	if !known {
		return ErrNotYours
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(singleLine), Where: w.e.Where, Lamp: w.e.Lamp}})
	return nil
}

// by is the end of the circuit at which the acting box stands, and whether it stands at one.
func (w *work) by() (int, bool) {
	for x := range w.p.boxes {
		if w.id(x) == w.e.By {
			return x, true
		}
	}
	return downEnd, false
}

// leavesSingle is a train passing the section signal at end x: E9. Where the token lay drawn in that box and nobody
// marked its handing over, the train has it.
func (w *work) leavesSingle(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if i := ln.train(w.e.Train); w.e.Train != "" && i >= 0 && !ln.trains[i].left.IsZero() {
		return ErrNoTrain // it is in that section already
	}
	o := occupant{id: w.e.Train, left: w.e.At, from: x}
	if tk.out && !tk.carried && tk.with == x && tk.drawn == x {
		tk.carried, tk.holder = true, w.e.Train
	}
	o.found = w.judgeLeavesSingle(x)
	o.accepted = !o.found
	o.shunt = !o.found && tk.shunt
	for i := range ln.trains { // 2 was rung before it went
		if b := &ln.trains[i]; b.from == x && b.left.IsZero() && !b.given && !o.shunt {
			o.two = b.two
			*ln.change(i) = o
			return nil
		}
	}
	ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], o)
	return nil
}

// sightedSingle is the box at end x seeing a train that comes to it.
func (w *work) sightedSingle(x int) error {
	ln := &w.t.lines[singleLine]
	i := w.seenSingle(x)
	if i < 0 {
		return ErrNoTrain
	}
	w.comesWithPilot(x)
	o := ln.change(i)
	through := o.seen == "" && o.shunt
	o.sight(w.e)
	if through {
		w.breaks("TK-10", 1-x, singleLine, w.e.At) // a token drawn by 5-2 has taken it through
	}
	if o.inside() && (o.given || o.found && o.two.IsZero()) {
		ln.remove(i) // given up before its time and now really out, or never spoken of by the bells at all
	}
	return nil
}

// seenSingle finds the train that the box at end x sees come. Where nobody marked its going, the bells' own train is
// it, or the one that was accepted.
func (w *work) seenSingle(x int) int {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	for i := range ln.trains {
		o := &ln.trains[i]
		same := o.id == w.e.Train && w.e.Train != "" || (w.e.Train == "" || o.id == "") && !o.given
		if same && o.from != x {
			return i
		}
	}
	if ln.stands != acc || tk.from == x || !ln.allGiven() {
		return -1
	}
	ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{id: w.e.Train, from: tk.from, accepted: true})
	return len(ln.trains) - 1
}

// returnsSingle is a train that came back to the end it had left.
func (w *work) returnsSingle(x int) error {
	ln := &w.t.lines[singleLine]
	i := ln.train(w.e.Train)
	switch {
	case i < 0 || ln.trains[i].from != x:
		return ErrNoTrain
	case w.e.Off:
		ln.change(i).parted = true // the rest is still there
	case ln.trains[i].two.IsZero():
		ln.remove(i)
	default:
		o := ln.change(i) // the bells still speak of it
		o.seen, o.at = IsClear, w.e.At
	}
	return nil
}

// wholeOrNot is a train that divides, or is found complete where it is.
func (w *work) wholeOrNot() error {
	ln := &w.t.lines[singleLine]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	o := ln.change(i)
	o.parted, o.whole = w.e.Where == Divides, w.e.Where == IsWhole
	w.surely(ln)
	return nil
}

// told is a box hearing from guard, shunter or by telephone that the train is complete.
func (keyToken) told(w *work, _ int) error {
	ln := &w.t.lines[singleLine]
	i := ln.train(w.e.Train)
	if i < 0 {
		return ErrNoTrain
	}
	ln.change(i).told = true
	w.surely(ln)
	return nil
}

// surely ends the doubt that 4-5 left behind.
func (w *work) surely(ln *line) {
	if ln.stands == doubt {
		ln.stands = lin
	}
}

// inside tells whether the train is known to be whole and off the single line: at a crossing place it need be no
// further than inside the home signal (other-methods reference, 2.3).
func (o *occupant) inside() bool { return o.out() || o.seen == Arrives && o.proved() }

// foul is something at end x that stands or moves on the single line outside the home signal, or within the clearing
// point: E19.
func (keyToken) foul(w *work, x, _ int) error {
	tk := &w.t.token
	if w.e.Off {
		tk.foul[x] = ""
		return nil
	}
	switch w.e.Where {
	case Inside, Moving, Outside:
	default:
		return ErrNoSense
	}
	tk.foul[x] = w.e.Where
	if w.shuntedOutsideWithoutToken(x) {
		w.breaks("TK-05", x, singleLine, w.e.At)
	}
	return nil
}
