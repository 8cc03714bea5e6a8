package block

// trackCircuit is the fringe of a line whose signals are worked by track circuits: nothing is asked and nothing is
// accepted, each train is only described before it passes the last signal of the sending box, by its class code, and
// announced by "train approaching" where that is ordered (other-methods reference, section 6). There is no indicator, no
// 2 and no 2-1; emergency signals are as anywhere.
type trackCircuit struct{}

// own works a signal that the box at end x rings. What is described by A counts until a train passes on it.
func (trackCircuit) own(w *work, x int, g *group, codes []*Code) {
	code := codes[0]
	switch {
	case code.Key == enteringSection || code.Key == outOfSection:
		w.breaks("TC-02", x, w.lineOf(x), g.first)
		w.across(x, g, code, w.lineOf(x))
	case code.Train && w.has(x):
		o := w.waits(x, g, code, x)
		w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(x), Did: Offered, Train: o.train})
	case code.Key == cancelling && w.has(x):
		w.t.offer[x] = nil
		w.t.lines[x].count = max(0, w.t.lines[x].count-1)
		w.across(x, g, code, x)
	case code.Key == obstructionDanger:
		w.danger(x, g, code)
	case code.Key == testingCode:
		w.test(x, g, code)
	case code.Key == openingCode, code.Key == closingCode, code.Key == closingLocked:
		w.farewell(x, g, code)
	default:
		w.across(x, g, code, w.lineOf(x))
	}
}

// lineOf is the line by which a signal of end x is booked: its own, else the other.
func (w *work) lineOf(x int) int {
	if w.has(x) {
		return x
	}
	return 1 - x
}

func (trackCircuit) answered(w *work, x int, o *open, g *group) {
	s := Signal{Key: o.code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Train: o.train, Did: Across}
	switch {
	case o.code.Train:
		w.t.lines[o.line].count++
		s.Did = Accepted
	case o.void:
	default:
		w.bindOther(x, o)
	}
	w.took(x, g, s)
}

// train follows a train by its sightings. TC-01: it passed and had not been described.
func (trackCircuit) train(w *work, l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	switch w.e.Where {
	case Leaves:
		if ln.count == 0 {
			w.breaks("TC-01", l, l, w.e.At)
		} else {
			ln.count--
		}
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{id: w.e.Train, left: w.e.At, found: true})
	case Passes, Arrives, IsClear, Returns:
		if i >= 0 {
			ln.remove(i)
		}
	case Stands, Heads, Departs, WasIn, WasBy, IsWhole, Divides:
	default:
		return ErrNoSense
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(l), Where: w.e.Where, Lamp: w.e.Lamp}})
	return nil
}

// lever is a signal that the track circuits hold and free.
func (trackCircuit) lever(w *work, x, l int, back bool) error {
	ln := &w.t.lines[l]
	if x != l {
		return ErrNotYours
	}
	if !back && ln.collar[x] {
		w.refuse(Collared)
		return nil
	}
	ln.signal = !back
	w.change(Change{Lever: &Pulled{Section: w.section(l), Off: !back}})
	return nil
}

// standing is whether a train is described and not gone, or on the line.
func (trackCircuit) standing(t *talk, l int) string {
	s := idle.String()
	if t.lines[l].count > 0 {
		s = acc.String()
	}
	if t.danger != [2]stage{} {
		s += "+danger"
	}
	return s
}

// Nothing is turned, held or released, and no train is given up.
func (trackCircuit) hold(*work, int, bool) error        { return nil }
func (trackCircuit) turn(*work, int, int, Aspect) error { return ErrNoInstrument }
func (trackCircuit) release(*work, int, int) error      { return ErrNoInstrument }
func (trackCircuit) token(*work, int) error             { return ErrNoInstrument }
func (trackCircuit) told(*work, int) error              { return nil }
func (trackCircuit) driver(*work, int) error            { return nil }
func (trackCircuit) foul(*work, int, int) error         { return nil }
