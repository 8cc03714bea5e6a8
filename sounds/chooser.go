package sounds

import (
	"cmp"
	"slices"
)

// A chooser fills one shelf after another. It weighs what a choice costs and takes the cheapest; among equals
// the first in the order of the voices.
type chooser struct {
	voices   []Voice // the plain ones in shelf order, then their sisters
	distinct [][]bool
}

const none = -1 // no voice given yet

// What a choice costs, beside its place in the order of the voices. Each outweighs a whole shelf of the next.
const (
	costSame      int64 = 1 << 40 // the same voice twice on one shelf
	costAlike     int64 = 1 << 30 // two on one shelf that may not hang there together
	costHeardToo  int64 = 1 << 20 // a voice that another box of the room has
	costAlikeThem int64 = 1 << 8  // a voice like one of another box of the room
)

func newChooser() *chooser {
	c := &chooser{voices: Voices()}
	for _, v := range Voices() {
		for _, steps := range sistersOf(v) {
			c.voices = append(c.voices, v.pitched(steps))
		}
	}
	c.distinct = make([][]bool, len(c.voices))
	for i, a := range c.voices {
		c.distinct[i] = make([]bool, len(c.voices))
		for j, b := range c.voices {
			c.distinct[i][j] = Distinct(a, b)
		}
	}
	return c
}

// find gives the place of a voice, or none for a name that is not known.
func (c *chooser) find(name string) int {
	for i, v := range c.voices {
		if v.Name == name {
			return i
		}
	}
	return none
}

// fill gives a voice to every instrument of a shelf that has none.
func (c *chooser) fill(shelf, given, elsewhere []int) {
	var open, fixed []int
	for _, i := range shelf {
		if given[i] == none {
			open = append(open, i)
			continue
		}
		fixed = append(fixed, given[i])
	}
	s := search{chooser: c, elsewhere: elsewhere, fixed: fixed, want: len(open), left: mostTried}
	s.hang(0)
	for n, i := range open {
		given[i] = s.found[n]
	}
}

// mostTried bounds the work on one shelf of absurd size.
const mostTried = 20_000

// A search hangs bell after bell on one shelf and turns back where it costs more than the best it has found.
type search struct {
	*chooser
	elsewhere []int // voices on other shelves of the same room
	fixed     []int // voices on this shelf that the layout chose
	want      int   // how many bells are to be hung
	tried     []int
	found     []int // the cheapest so far
	cost      int64 // of found
	left      int   // steps still allowed
}

func (s *search) hang(cost int64) {
	if s.found != nil && (cost >= s.cost || s.left <= 0) {
		return
	}
	s.left--
	if len(s.tried) == s.want {
		s.found, s.cost = slices.Clone(s.tried), cost
		return
	}
	for _, o := range s.offers() {
		s.tried = append(s.tried, o.voice)
		s.hang(cost + o.cost)
		s.tried = s.tried[:len(s.tried)-1]
	}
}

// An offer is a voice that could hang next, and what it would cost.
type offer struct {
	voice int
	cost  int64
}

// offers lists all voices, the cheapest first.
func (s *search) offers() []offer {
	all := make([]offer, len(s.voices))
	for v := range s.voices {
		all[v] = offer{v, int64(v) + s.beside(v, s.fixed) + s.beside(v, s.tried) + s.across(v)}
	}
	slices.SortStableFunc(all, func(a, b offer) int { return cmp.Compare(a.cost, b.cost) })
	return all
}

func (s *search) beside(v int, hung []int) int64 {
	var cost int64
	for _, h := range hung {
		switch {
		case h == v:
			cost += costSame
		case !s.distinct[h][v]:
			cost += costAlike
		}
	}
	return cost
}

func (s *search) across(v int) int64 {
	var cost int64
	for _, h := range s.elsewhere {
		switch {
		case h == v:
			cost += costHeardToo
		case !s.distinct[h][v]:
			cost += costAlikeThem
		}
	}
	return cost
}
