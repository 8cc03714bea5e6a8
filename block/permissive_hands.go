package block

// turn is B's handle. To train on line it counts one more; to the other two the count goes to nothing. With each 2-1 the
// count goes down by itself.
func (permissive) turn(w *work, b, l int, show Aspect) error {
	ln := &w.t.lines[l]
	switch {
	case b == l:
		return ErrNotYours
	case show != Blocked && show != Clear && show != Occupied:
		return ErrNoSense
	case ln.broken:
		w.refuse(Failed)
		return nil
	case ln.shows == show && show != Occupied:
		return nil
	}
	if show == Occupied {
		ln.count++
	} else {
		ln.count = 0
	}
	ln.shows, ln.moved = show, w.e.At
	w.change(Change{Indicator: &Shown{Section: w.section(l), Aspect: show, Count: ln.count}})
	return nil
}

// lever is A's signal into the line. Where it is locked, it needs line clear or a train on line behind which this one
// has been accepted.
func (permissive) lever(w *work, a, l int, back bool) error {
	ln := &w.t.lines[l]
	if a != l {
		return ErrNotYours
	}
	if !back {
		switch {
		case ln.collar[a]:
			w.refuse(Collared)
			return nil
		case w.p.level != Free && w.p.level != "" && ln.shows == Blocked:
			w.refuse(NoLineClear)
			return nil
		}
		w.judgeLeavesBehind(a, Irregular)
	}
	ln.signal = !back
	w.change(Change{Lever: &Pulled{Section: w.section(l), Off: !back}})
	return nil
}

// train works the sighting of a train on the line leaving end l, or the truth about one.
func (permissive) train(w *work, l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	switch w.e.Where {
	case Leaves:
		return w.leavesBehind(l, i)
	case Stands, Heads, Passes, Arrives, IsClear:
		if i < 0 {
			i = ln.unnamed()
		}
		if i < 0 {
			return ErrNoTrain
		}
		o := ln.change(i)
		o.sight(w.e)
		if o.out() && o.given {
			ln.remove(i)
		}
	case Returns:
		if i < 0 {
			return ErrNoTrain
		}
		if permissiveSetBack(ln) {
			w.breaks("PM-07", 1-l, l, w.e.At)
		}
		if !w.e.Off {
			o := ln.change(i) // the bells still count it, until 2-1
			o.seen, o.at = IsClear, w.e.At
		}
	case IsWhole, Divides:
		if i < 0 {
			return ErrNoTrain
		}
		o := ln.change(i)
		o.whole, o.parted = w.e.Where == IsWhole, w.e.Where == Divides
	case Departs, WasIn, WasBy:
	default:
		return ErrNoSense
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(l), Where: w.e.Where, Lamp: w.e.Lamp}})
	return nil
}

// unnamed finds the oldest train of which only the bells have spoken, by no name; -1 if there is none.
func (l *line) unnamed() int {
	for i := range l.trains {
		if o := &l.trains[i]; o.id == "" && !o.given {
			return i
		}
	}
	return -1
}

// leavesBehind is a train passing A's signal into the line.
func (w *work) leavesBehind(l, i int) error {
	ln := &w.t.lines[l]
	if w.e.Train != "" && i >= 0 && !ln.trains[i].left.IsZero() {
		return ErrNoTrain // it is in that section already
	}
	if i = ln.believed(); i >= 0 { // 2 was rung before it went
		o := ln.change(i)
		o.id, o.left = w.e.Train, w.e.At
	} else {
		o := ln.next(w.e.Train)
		o.left, o.found = w.e.At, w.judgeLeavesBehind(l, "")
		ln.used = true
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], o)
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(l), Where: Leaves}})
	return nil
}
