package block

import (
	"fmt"
	"slices"
	"time"
)

// playout is the ceiling that the network may delay a beat by; a code is never closed sooner after the sitting
// took its last beat (milliseconds 400).
const playout = 400 * time.Millisecond

// together is how near two presses from both ends must be for both boxes to have rung at once.
const together = 300 * time.Millisecond

// most is how many beats end a code of themselves: testing is 16, nothing is longer.
const most = 20

// Step answers one event. It does not change s.
//
// An error means that the event cannot be; nothing is to be recorded and the returned state is s.
// Otherwise the event happened, if only as an attempt that the apparatus refused, and the caller must
// record the event with its outcome before showing either to anyone. A Beat alone may be rung first.
func (r *Rules) Step(s State, e Event) (State, Outcome, error) {
	if e.At.Before(s.at) {
		return s, Outcome{}, ErrBackwards
	}
	a := &act{r: r, next: s, e: e, out: Outcome{Ending: Done}} // one allocation for all of it
	a.s = &a.next
	a.s.at = e.At
	a.s.count++
	if err := a.do(); err != nil {
		return s, Outcome{}, fmt.Errorf("%s at %s: %w", e.Do, e.By, err)
	}
	return a.next, a.out, nil
}

// act is one event being worked.
type act struct {
	r    *Rules
	s    *State // the next one
	e    Event
	out  Outcome
	next State
	work work // on the circuit in hand
}

func (a *act) do() error {
	if a.s.paused && a.e.By != "" && a.e.Do != Remark && a.e.Do != Duty && a.e.Do != Ears && a.e.Do != Happens && a.e.Do != Plans {
		return ErrPaused
	}
	switch a.e.Do {
	case Tick:
		return a.tick()
	case Pace:
		if a.e.Words != "" {
			if _, ok := a.e.Speed(); !ok || a.r.layout.Clock.Kind != "scaled" {
				return ErrNoSense
			}
		}
		a.s.paused = a.e.Off
		return nil
	case Trains:
		return a.trains()
	case Happens, Befalls:
		return a.happens()
	case Plans:
		return a.plans()
	case Beat, Rung, Hold:
		return a.bell()
	case Turn, Lever, Release, Train, Told, Driver, Foul, Token, Pilot, Engineers:
		return a.onLine()
	case Collar:
		return a.collar()
	case Fault:
		return a.fault()
	case Duty:
		return a.duty()
	case Switch:
		return a.turnSwitch()
	case Ears, Remark, Call, Slip, Clock:
		return a.words()
	}
	return ErrNoSense
}

// Due returns the earliest time at which the passing of time alone will change s, and whether there is one:
// the quiet that ends a code.
func (r *Rules) Due(s State) (time.Time, bool) {
	var first time.Time
	for _, c := range s.circuits {
		for k := range c.keys {
			if len(c.keys[k].presses) == 0 {
				continue
			}
			if end := c.keys[k].ends(); first.IsZero() || end.Before(first) {
				first = end
			}
		}
	}
	return first, !first.IsZero()
}

// ends is when the quiet after the last beat has lasted long enough.
func (k *key) ends() time.Time {
	quiet := k.presses[len(k.presses)-1].Add(k.hand.quiet(k.presses))
	if late := k.arrived.Add(playout); late.After(quiet) {
		return late
	}
	return quiet
}

// tick ends every code whose quiet is over.
func (a *act) tick() error {
	for n := range a.s.circuits {
		c := a.s.circuits[n]
		if len(c.keys[0].presses)+len(c.keys[1].presses) == 0 {
			continue
		}
		own := a.s.circuit(n)
		a.quiet(n, own)
	}
	return nil
}

// quiet ends the codes of one circuit whose quiet is over.
func (a *act) quiet(n int, c *circuitState) {
	for k := range c.keys {
		if len(c.keys[k].presses) > 0 && !c.keys[k].ends().After(a.e.At) {
			a.finish(n, c, k)
		}
	}
}

// bell works a beat, a whole code or the key held down.
func (a *act) bell() error {
	n, ok := a.r.circuitNo[a.e.Circuit]
	if !ok {
		return ErrNoSuchLine
	}
	p := &a.r.circuits[n]
	x, err := a.at(p)
	if err != nil {
		return err
	}
	c := a.s.circuit(n)
	a.quiet(n, c)
	k, far := &c.keys[x], &c.keys[1-x]
	if a.e.Do == Hold {
		return a.holds(n, c, x)
	}
	k.held = false
	pressed := a.e.pressed()
	if m := len(far.presses); m > 0 && pressed.Sub(far.presses[m-1]) >= together {
		a.finish(n, c, 1-x) // he has begun to answer
	}
	if a.e.Do == Rung {
		if len(a.e.Beats) == 0 {
			return ErrNoSense
		}
		if len(k.presses) > 0 {
			a.finish(n, c, x)
		}
		a.heard(n, c, x, group{beats: a.e.Beats, first: pressed, train: a.e.Train})
		return nil
	}
	k.presses = append(slices.Clip(k.presses), pressed)
	k.arrived = a.e.At
	if a.e.Train != "" {
		k.train = a.e.Train
	}
	if !c.talk.dead {
		a.out.Rings = append(a.out.Rings, Ring{Circuit: p.id, To: a.r.boxes[p.boxes[1-x]].ID, Pressed: pressed})
	}
	if len(k.presses) >= most {
		a.finish(n, c, x)
	}
	return nil
}

// holds keeps the key at end x down, which ends the code that it belongs to, or lets it go.
func (a *act) holds(n int, c *circuitState, x int) error {
	k, down := &c.keys[x], !a.e.Off
	if down && len(k.presses) > 0 {
		a.finish(n, c, x)
	}
	err := a.talked(n, c, false, func(w *work) error { return a.r.circuits[n].method.hold(w, x, down) })
	if a.out.Ending != Refused {
		k.held = down
	}
	return err
}

// at finds the end of the circuit at which the acting box stands, and that it may act there.
func (a *act) at(p *circuitPlan) (int, error) {
	b, err := a.box()
	if err != nil {
		return 0, err
	}
	if p.boxes[0] != b && p.boxes[1] != b {
		return 0, ErrNotYours
	}
	if !a.s.works(p) {
		return 0, ErrCutOut
	}
	return p.end(b), nil
}

// box finds the acting box, which must be on duty.
func (a *act) box() (int, error) {
	b, ok := a.r.boxNo[a.e.By]
	if !ok {
		return 0, ErrNoSuchBox
	}
	if !a.s.boxes[b].duty {
		return 0, ErrOffDuty
	}
	return b, nil
}

// finish reads the presses of a key as a code: the group is at an end.
func (a *act) finish(n int, c *circuitState, x int) {
	k := &c.keys[x]
	inBook := a.r.circuits[n].inBook
	reading := k.hand.read(k.presses, inBook)
	first, joined := k.presses[0], false
	if len(k.cut) > 0 {
		if whole, ok := k.hand.joins(k.cut, k.presses, inBook); ok {
			reading, first, joined = whole, k.cut[0], true
		}
	}
	g := group{beats: reading.beats, or: reading.or, first: first, joined: joined, train: k.train}
	k.hand = k.hand.after(reading)
	k.cut = nil
	if !inBook(reading.beats) {
		k.cut = k.presses
	}
	k.presses, k.train = nil, ""
	a.heard(n, c, x, g)
}

// inBook tells whether the code has a meaning on this circuit.
func (p *circuitPlan) inBook(b Beats) bool { return len(p.byBeats[string(b)]) > 0 }

// group is a finished code as it was rung.
type group struct {
	beats Beats
	or    Beats // the second reading of a doubtful hand, or what the book knows
	first time.Time
	train TrainID // named by a touch on the sequence notice
	// joined: it was taken for two codes at first, cut by a pause a little too long (computation 2.4).
	joined bool
}

// heard takes a finished code: what it can mean by the book, then what it is taken for.
func (a *act) heard(n int, c *circuitState, x int, g group) {
	p := &a.r.circuits[n]
	h := &Heard{Circuit: p.id, By: a.r.boxes[p.boxes[x]].ID, First: g.first, Beats: g.beats, Or: g.or, Joined: g.joined}
	h.Keys = p.keysOf[string(g.beats)]
	c.keys[x].last = h
	a.out.Changes = slices.Grow(a.out.Changes, 2) // the code, and what it is taken for
	a.out.Changes = append(a.out.Changes, Change{Code: h})
	if c.talk.dead {
		return // nobody heard it; it means nothing to anyone
	}
	_ = a.talked(n, c, true, func(w *work) error { // a bell is never refused and never cannot be
		if m, ok := p.method.(keyToken); ok && m.saysTokenOut(w, x, &g) {
			return nil
		}
		w.sort(x, &g)
		return nil
	})
}
