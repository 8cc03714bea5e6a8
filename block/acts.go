package block

import "time"

// onLine works an act on one line: a handle, a lever, a train seen, an obstruction.
func (a *act) onLine() error {
	if a.e.By != "" {
		if _, err := a.box(); err != nil {
			return err
		}
	}
	if a.e.Section == "" {
		return a.findLine()
	}
	n, l, err := a.line()
	if err != nil {
		return err
	}
	return a.workLine(n, l)
}

// line finds the circuit of the event's section, and the end that its trains leave.
func (a *act) line() (circuit, l int, err error) {
	n, ok := a.r.sectionNo[a.e.Section]
	if !ok {
		return 0, 0, ErrNoSuchLine
	}
	p := &a.r.circuits[a.r.sections[n].circuit]
	if !a.s.works(p) {
		return 0, 0, ErrCutOut
	}
	return a.r.sections[n].circuit, leavesFrom(a.r.sections[n].Line), nil
}

// workLine hands the act to the method of its line.
func (a *act) workLine(n, l int) error {
	p := &a.r.circuits[n]
	x := -1
	if b, ok := a.r.boxNo[a.e.By]; ok && (p.boxes[0] == b || p.boxes[1] == b) {
		x = p.end(b)
	}
	if x < 0 && a.e.Do != Train {
		return ErrNotYours
	}
	c := a.s.circuit(n)
	a.quiet(n, c)
	m := p.method
	return a.talked(n, c, a.e.Do == Turn, func(w *work) error {
		switch a.e.Do {
		case Turn:
			return m.turn(w, x, l, a.e.Show)
		case Lever:
			return m.lever(w, x, l, a.e.Off)
		case Release:
			return m.release(w, x, l)
		case Train:
			return m.train(w, l)
		case Told:
			return m.told(w, l)
		case Driver:
			return m.driver(w, l)
		case Foul:
			return m.foul(w, x, l)
		case Token:
			return m.token(w, x)
		case Pilot:
			return w.pilot(x, l)
		case Engineers:
			return w.giveUpLine(x, l)
		}
		return ErrNoInstrument
	})
}

// findLine works an act that names a train but not its line: the line is where the train is.
func (a *act) findLine() error {
	switch {
	case a.e.Do == Driver:
		return nil // stopped or cautioned at his signals: no line is touched
	case a.e.Do != Train && a.e.Do != Told:
		return ErrNoSense
	case a.e.Where == IsWhole || a.e.Where == Divides:
		return a.everyLine()
	}
	for _, likely := range []func(n, l int) bool{a.holdsTrain, a.expectsTrain} {
		for n := range a.r.circuits {
			for l := range a.r.circuits[n].sections {
				if a.concerns(n, l) && likely(n, l) {
					return a.workLine(n, l)
				}
			}
		}
	}
	return ErrNoTrain
}

// everyLine works an act that concerns a train wherever any part of it is.
func (a *act) everyLine() error {
	err := error(ErrNoTrain)
	for n := range a.r.circuits {
		for l := range a.r.circuits[n].sections {
			if a.holdsTrain(n, l) {
				if err = a.workLine(n, l); err != nil {
					return err
				}
			}
		}
	}
	return err
}

// concerns tells whether the acting box is the one that sees trains of that line: the box in advance, or for a train
// that came back the box in rear.
func (a *act) concerns(n, l int) bool {
	p := &a.r.circuits[n]
	if p.sections[l] < 0 || !a.s.works(p) {
		return false
	}
	s := &a.r.sections[p.sections[l]]
	at := a.r.boxNo[a.e.By]
	if s.Way == "both" {
		return at == s.advance || at == s.rear
	}
	if a.e.Where == Returns {
		return at == s.rear
	}
	return at == s.advance
}

func (a *act) holdsTrain(n, l int) bool {
	ln := &a.s.circuits[n].talk.lines[l]
	return a.e.Train != "" && ln.train(a.e.Train) >= 0
}

// expectsTrain tells whether a train not marked when it left may be the one now seen: the bells speak of one.
func (a *act) expectsTrain(n, l int) bool {
	ln := &a.s.circuits[n].talk.lines[l]
	i := ln.believed()
	return i >= 0 && (ln.trains[i].id == "" || a.e.Train == "") || ln.stands == acc || ln.stands == acw
}

// place finds the circuit of the event, and the end that the trains of its line leave; -1 if it means every line.
func (a *act) place() (circuit, l int, err error) {
	if a.e.Section != "" {
		return a.line()
	}
	n, ok := a.r.circuitNo[a.e.Circuit]
	if !ok {
		return 0, 0, ErrNoSuchLine
	}
	return n, -1, nil
}

// collar puts a reminder on the instrument or lever of one line, or of all lines to a neighbour, or takes it away.
func (a *act) collar() error {
	n, l, err := a.place()
	if err != nil {
		return err
	}
	p := &a.r.circuits[n]
	x, err := a.at(p)
	if err != nil {
		return err
	}
	c := a.s.circuit(n)
	return a.talked(n, c, false, func(w *work) error {
		for i := range w.t.lines {
			if l < 0 || l == i {
				w.t.lines[i].collar[x] = !a.e.Off
			}
		}
		w.change(Change{Collar: &Reminded{Box: a.e.By, Circuit: p.id, Section: a.e.Section, On: !a.e.Off}})
		return nil
	})
}

// fault makes an instrument fail, or mends it.
func (a *act) fault() error {
	n, l, err := a.place()
	if err != nil {
		return err
	}
	c := a.s.circuit(n)
	return a.talked(n, c, false, func(w *work) error {
		switch a.e.Where {
		case AtBell:
			w.t.dead = !a.e.Off
		case AtNeedle:
			for i := range w.t.lines {
				if l < 0 || l == i {
					w.t.lines[i].broken = !a.e.Off
					w.t.token.failed = time.Time{}
				}
			}
		case AtPhone:
		default:
			return ErrNoSense
		}
		w.change(Change{Fault: &Broken{Circuit: w.p.id, Section: a.e.Section, Where: a.e.Where, Mended: a.e.Off}})
		return nil
	})
}

// duty is a signalman signing on or off.
func (a *act) duty() error {
	n, ok := a.r.boxNo[a.e.By]
	if !ok {
		return ErrNoSuchBox
	}
	if a.s.boxes[n].duty != a.e.Off {
		if a.e.Off {
			return ErrOffDuty
		}
		return ErrOnDuty
	}
	b := a.s.box(n)
	b.duty, b.since, b.ears = !a.e.Off, a.e.At, ""
	a.out.Changes = append(a.out.Changes, Change{Duty: &OnDuty{Box: a.e.By, On: b.duty}})
	return nil
}

// words are acts that only stand in the record: a remark, a call, an entry ruled through, ears tried, a clock.
func (a *act) words() error {
	if a.e.Do == Remark && a.e.By == "" {
		return nil // the owner's, in the record and in no box's book
	}
	n, ok := a.r.boxNo[a.e.By]
	if !ok {
		return ErrNoSuchBox
	}
	switch a.e.Do {
	case Ears:
		a.s.box(n).ears = a.e.Words
	case Slip:
		if a.e.Line == 0 {
			return ErrNoEntry
		}
	case Clock:
		return nil
	}
	if !a.s.boxes[n].duty {
		return ErrOffDuty
	}
	return nil
}
