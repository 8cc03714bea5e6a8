package block

// plain is a line that carries bells only: every signal of its book may be rung and is answered by its repetition,
// and nothing else is known of it.
type plain struct{}

// BellsOnly tells whether the circuit carries bells and no instruments: its method can be written down in a layout, but
// is not yet worked.
func (c Circuit) BellsOnly() bool {
	_, only := methodOf(c.Method).(plain)
	return only
}

func (plain) own(w *work, x int, g *group, codes []*Code) {
	code := codes[0]
	w.waits(x, g, code, onlyLine(w))
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(onlyLine(w)), Did: effectOf(code.Key, code.Train)})
}

func (plain) answered(w *work, x int, o *open, g *group) {
	did := effectOf(o.code.Key, o.code.Train)
	if did == Offered {
		did = Accepted
	}
	w.took(x, g, Signal{Key: o.code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Did: did, Train: o.train})
}

// onlyLine is the line of a circuit that serves one.
func onlyLine(w *work) int {
	if w.has(downEnd) {
		return downEnd
	}
	return upEnd
}

// effectOf says into which column of a register a signal goes.
func effectOf(key CodeKey, train bool) Effect {
	switch {
	case train:
		return Offered
	case key == enteringSection:
		return Entering
	case key == outOfSection:
		return OutOf
	}
	return Across
}

func (plain) hold(*work, int, bool) error { return nil }

func (plain) turn(*work, int, int, Aspect) error { return ErrNoInstrument }

func (plain) lever(w *work, _, l int, off bool) error {
	w.t.lines[l].signal = off
	w.change(Change{Lever: &Pulled{Section: w.section(l), Off: off}})
	return nil
}

func (plain) release(*work, int, int) error { return ErrNoInstrument }

// train follows a train by its sightings, so that it is found again where it was last seen; nothing is judged by them.
func (plain) train(w *work, l int) error {
	ln := &w.t.lines[l]
	i := ln.train(w.e.Train)
	switch w.e.Where {
	case Leaves:
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{id: w.e.Train, left: w.e.At})
	case Passes, Arrives, IsClear, Returns:
		if i >= 0 {
			ln.remove(i)
		}
	}
	w.change(Change{Train: &Spotted{Train: w.e.Train, Section: w.section(l), Where: w.e.Where, Lamp: w.e.Lamp}})
	return nil
}

func (plain) token(*work, int) error     { return ErrNoInstrument }
func (plain) told(*work, int) error      { return nil }
func (plain) driver(*work, int) error    { return nil }
func (plain) foul(*work, int, int) error { return nil }

func (plain) standing(*talk, int) string { return idle.String() }
