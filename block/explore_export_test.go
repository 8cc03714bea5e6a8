package block

import "time"

// lately is how old a time may be and still count as recent: no limit of the regulations that an act is judged by is
// as short as the two seconds between acts of an exploration, and none is longer than its wait.
const lately = 15 * time.Second

// Compact is the state with every clock time replaced by what it still means: recent, long ago, or only that it has
// been. Two states whose Compact is equal answer alike every later act of an exploration, in which a box says at once
// what it has called for, and answers only what waits. now is the moment it is set at.
func Compact(s State, now time.Time) State {
	c := compactor{was: s.at, now: now}
	n := s
	n.at, n.count = now, 0
	n.boxes = make([]*boxState, len(s.boxes))
	for i, b := range s.boxes {
		n.boxes[i] = &boxState{duty: b.duty, open: b.open}
	}
	n.circuits = make([]*circuitState, len(s.circuits))
	for i, was := range s.circuits {
		t := *was.talk
		c.talk(&t)
		n.circuits[i] = &circuitState{talk: &t, or: was.or}
	}
	return n
}

type compactor struct{ was, now time.Time }

// age puts a time to one of two moments.
func (c compactor) age(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	ago := 2 * time.Second
	if c.was.Sub(t) > lately {
		ago = 10 * time.Minute
	}
	return c.now.Add(-ago)
}

func (c compactor) talk(t *talk) {
	for e := range t.call {
		if k := &t.call[e]; k.spent && !k.open {
			*k = call{} // what it was answered for has been said
			continue
		}
		t.call[e].at, t.call[e].answered, t.call[e].last = c.age(t.call[e].at), c.age(t.call[e].answered), c.age(t.call[e].last)
	}
	for e := range t.offer {
		t.offer[e], t.other[e] = c.open(t.offer[e]), c.open(t.other[e])
	}
	if t.slip != nil {
		slip := *t.slip
		slip.first, slip.of = c.now, c.open(slip.of)
		for e := range t.offer { // it is one of these, or none any more
			if t.offer[e] != nil && slip.of.code == t.offer[e].code && slip.by == 1-e {
				slip.of = t.offer[e]
			}
			if t.other[e] != nil && slip.of.code == t.other[e].code && slip.by == 1-e {
				slip.of = t.other[e]
			}
		}
		t.slip = &slip
	}
	t.tested = c.age(t.tested)
	for l := range t.lines {
		c.line(&t.lines[l])
	}
}

func (c compactor) open(o *open) *open {
	if o == nil {
		return nil
	}
	n := *o
	n.first = c.was0(o.first)
	return &n
}

func (c compactor) line(l *line) {
	l.moved, l.outGiven, l.entered = c.age(l.moved), c.age(l.outGiven), c.was0(l.entered)
	if l.shows != Clear || l.stands >= acc {
		l.moved = time.Time{} // an offer asks only when a needle was cleared
	}
	if l.shows == Blocked || l.stands >= acc {
		l.outGiven = time.Time{} // only a needle that has not followed yet is asked
	}
	if l.stands < lin {
		l.entered = time.Time{}
	}
	l.offer, l.second = c.acceptance(l.offer), c.acceptance(l.second)
	trains := make([]occupant, len(l.trains))
	for i, o := range l.trains {
		o.left, o.two, o.at = c.was0(o.left), c.was0(o.two), time.Time{}
		trains[i] = o
	}
	l.trains = trains
}

// was0 keeps of a time only that there was one.
func (c compactor) was0(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return c.now.Add(-time.Minute)
}

func (c compactor) acceptance(a *acceptance) *acceptance {
	if a == nil {
		return nil
	}
	n := *a
	n.first, n.at = c.was0(a.first), c.was0(a.at)
	return &n
}

// Text writes out everything of one circuit that a later act on it could depend on.
func Text(s State, circuit int) string {
	c := s.circuits[circuit]
	d := dump{b: make([]byte, 0, 512)}
	d.talk(c.talk)
	if c.or != nil {
		d.talk(c.or.talk)
		d.num(c.or.first.weight())
		d.num(c.or.second.weight())
	}
	return string(d.b)
}

// Waits tells whether a signal of those beats, rung by the box at that end, waits for its repetition.
func Waits(s State, circuit, end int, beats Beats) bool {
	t := s.circuits[circuit].talk
	for _, o := range []*open{t.offer[end], t.other[end]} {
		if o != nil && !o.void && o.code.Beats.Equal(beats) {
			return true
		}
	}
	return false
}

// Waiting lists what the box at that end of a circuit has rung that waits for its repetition, offers aside.
func Waiting(s State, circuit, end int) Beats {
	if o := s.circuits[circuit].talk.other[end]; o != nil && o.code.Key != warningCode {
		return o.code.Beats
	}
	return nil
}

// Endangered tells whether the box at that end has rung 6 and not ended it.
func Endangered(s State, circuit, end int) bool { return s.circuits[circuit].talk.danger[end] != none }

// OldestOut tells whether the oldest train of a line that has not been given up is out of the section.
func OldestOut(s State, circuit int) bool {
	ln := &s.circuits[circuit].talk.lines[downEnd]
	i := ln.train("")
	return i >= 0 && ln.trains[i].out()
}

// Doubtful tells whether a train has come to the box in advance and is not known to be whole.
func Doubtful(s State, circuit int, id TrainID) bool {
	ln := &s.circuits[circuit].talk.lines[downEnd]
	i := ln.train(id)
	return i >= 0 && ln.trains[i].incomplete()
}

// Held tells whether a code is still held in two readings.
func Held(s State, circuit int) bool { return s.circuits[circuit].or != nil }

// Truth is where a train is in a section, in truth; empty if it is not in it. Entered is a train that has not come to
// the box in advance yet.
func Truth(s State, circuit int, id TrainID) Place {
	ln := &s.circuits[circuit].talk.lines[downEnd]
	for i := range ln.trains {
		if o := &ln.trains[i]; o.id == id && !o.left.IsZero() {
			if o.seen == "" {
				return Leaves
			}
			return o.seen
		}
	}
	return ""
}
