package block

import (
	"slices"
	"time"
)

// Shape is the state without the moments at which things happened, of which only whether they did is kept, and without
// the codes last heard: enough to tell states apart where so long passes between acts that no limit of time is met.
func (s State) Shape() string {
	s.at, s.count = time.Time{}, 0
	s.boxes = slices.Clone(s.boxes)
	for n, b := range s.boxes {
		box := *b
		box.since = time.Time{}
		s.boxes[n] = &box
	}
	for n := range s.circuits {
		c := s.circuit(n)
		for k := range c.keys {
			c.keys[k] = key{held: c.keys[k].held}
		}
		bare(c.talk)
	}
	return string(s.text())
}

// then stands for any moment.
func then(t *time.Time) {
	if !t.IsZero() {
		*t = time.Unix(0, 0)
	}
}

func bare(t *talk) {
	t.call = [2]call{}
	then(&t.token.moved)
	for e := range t.offer {
		for _, o := range []**open{&t.offer[e], &t.other[e]} {
			if *o != nil {
				p := **o
				p.first = time.Unix(0, 0)
				*o = &p
			}
		}
	}
	if t.slip != nil {
		of := *t.slip.of
		of.first = time.Unix(0, 0)
		t.slip = &slip{by: t.slip.by, beats: t.slip.beats, first: of.first, of: &of}
	}
	for l := range t.lines {
		ln := &t.lines[l]
		ln.outGiven, ln.entered, ln.moved = time.Time{}, time.Time{}, time.Time{}
		if ln.offer != nil {
			a := *ln.offer
			then(&a.first)
			then(&a.at)
			ln.offer = &a
		}
		for i := range ln.trains {
			o := ln.change(i)
			then(&o.left)
			then(&o.two)
			then(&o.at)
		}
	}
}
