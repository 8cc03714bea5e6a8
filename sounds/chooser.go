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
	for _, v := range slices.Clone(c.voices) {
		for _, steps := range sistersOf(v) {
			c.voices = append(c.voices, v.moved(steps))
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
	return slices.IndexFunc(c.voices, func(v Voice) bool { return v.Name == name })
}

// fill gives a voice to every instrument of a shelf that has none. As many as possible differ from one another
// as bells of one shelf should; any more get what is least like the others.
func (c *chooser) fill(shelf, given, elsewhere []int) {
	var open, hung []int
	for _, i := range shelf {
		if given[i] == none {
			open = append(open, i)
			continue
		}
		hung = append(hung, given[i])
	}
	chosen := c.apart(len(open), hung, elsewhere)
	for _, i := range open[:len(chosen)] {
		given[i] = chosen[0]
		hung, chosen = append(hung, chosen[0]), chosen[1:]
	}
	for _, i := range open {
		if given[i] == none {
			given[i] = c.offers(hung, elsewhere)[0].voice
			hung = append(hung, given[i])
		}
	}
}

// An offer is a voice that could hang next, and what it would cost.
type offer struct {
	voice int
	cost  int64
}

// offers lists all voices, the cheapest first.
func (c *chooser) offers(hung, elsewhere []int) []offer {
	all := make([]offer, len(c.voices))
	for v := range c.voices {
		all[v] = offer{v, int64(v) + c.among(v, hung, costSame, costAlike) + c.among(v, elsewhere, costHeardToo, costAlikeThem)}
	}
	slices.SortStableFunc(all, func(a, b offer) int { return cmp.Compare(a.cost, b.cost) })
	return all
}

// among is what a voice costs among others, same for each that it is and alike for each that it is like.
func (c *chooser) among(v int, others []int, same, alike int64) int64 {
	var cost int64
	for _, o := range others {
		switch {
		case o == v:
			cost += same
		case !c.distinct[o][v]:
			cost += alike
		}
	}
	return cost
}

// apart finds the cheapest n voices that all differ from one another as bells of one shelf should, the cheapest
// first; or fewer, where there are not so many.
func (c *chooser) apart(n int, hung, elsewhere []int) []int {
	offers := c.offers(hung, elsewhere)
	for n = min(n, len(shelfOrder())); n > 0; n-- { // never more than there are bodies
		s := search{chooser: c, want: n}
		s.hang(0, offers)
		if s.found != nil {
			return s.found
		}
	}
	return nil
}

// A search hangs bell after bell on one shelf and turns back where it cannot become cheaper than the best found.
type search struct {
	*chooser
	want  int
	tried []int
	found []int // the cheapest so far
	cost  int64 // of found
}

// hang tries the offers, the cheapest first, each beside what has been tried already. All of them differ from it.
func (s *search) hang(cost int64, offers []offer) {
	need := s.want - len(s.tried)
	if need == 0 {
		s.found, s.cost = slices.Clone(s.tried), cost
		return
	}
	for i, o := range offers {
		if len(offers)-i < need || s.found != nil && cost+total(offers[i:i+need]) >= s.cost {
			return
		}
		var rest []offer
		for _, r := range offers[i+1:] {
			if s.distinct[o.voice][r.voice] {
				rest = append(rest, r)
			}
		}
		s.tried = append(s.tried, o.voice)
		s.hang(cost+o.cost, rest)
		s.tried = s.tried[:len(s.tried)-1]
	}
}

func total(offers []offer) int64 {
	var sum int64
	for _, o := range offers {
		sum += o.cost
	}
	return sum
}
