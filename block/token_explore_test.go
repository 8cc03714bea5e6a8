package block_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// exchanges are doings at both ends with each code answered at once, an offer left unanswered, and a release given or
// not. With trains: those that trains need; else those of shunting.
func exchanges(c block.Circuit, trains bool) [][]block.Event {
	var all [][]block.Event
	for x, by := range c.Boxes {
		rings := func(id block.BoxID, beats ...uint8) block.Event {
			return block.Event{Do: block.Rung, By: id, Circuit: c.ID, Beats: beats}
		}
		other := c.Boxes[1-x]
		hold := block.Event{Do: block.Hold, By: other, Circuit: c.ID}
		codes := []block.Beats{{2, 5}, {3, 3}, {2, 1}}
		asks := []block.Event{rings(by, 5, 2), rings(other, 5, 2), hold}
		if trains {
			codes = []block.Beats{{2}, {2, 1}, {3, 5}}
			asks = []block.Event{rings(by, 3, 1), rings(other, 3, 1), hold}
			all = append(all, []block.Event{rings(by, 3, 1)})
		}
		for _, code := range codes {
			all = append(all, []block.Event{rings(by, code...), rings(other, code...)})
		}
		all = append(all, asks, asks[:2])
	}
	for _, e := range doings(c) {
		if e.Do != block.Rung && (trains || e.Do != block.Train && e.Where != block.Handed) {
			all = append(all, []block.Event{e})
		}
	}
	return all
}

// Every state that two boxes can bring one single line into by regular acts is explored, and every act from it, however
// mad: in none are two tokens out, and from each of the states the line can be brought back to normal (reference, other
// methods, 2.4). With TAILLAMP_EXPLORE=ci so are the states that one irregular act leads into.
func TestEveryStateOfOneTokenSection(t *testing.T) {
	mistakes := 0
	if os.Getenv("TAILLAMP_EXPLORE") == "ci" {
		mistakes = 1
	}
	t.Run("trains", func(t *testing.T) { exploreToken(t, true, mistakes) })
	t.Run("shunting", func(t *testing.T) { exploreToken(t, false, 1) })
}

func exploreToken(t *testing.T, trains bool, mistakes int) {
	r := branch(t, "token", block.Free, "A", "B")
	acts := exchanges(r.Circuits()[0], trains)
	begin := opening(t, r, "A", "B")
	exploreStates(t, r, begin, acts, mistakes, func(s block.State, act []block.Event) bool {
		l, _ := r.Line(s, r.Circuits()[0].Sections[0].ID)
		in := l.Token.In["A"] + l.Token.In["B"]
		require.True(t, in == 2 && !l.Token.Out || in == 1 && l.Token.Out, "%v: %d tokens in", act, in)
		return l.Token.Out
	})
}

// opening is the state of a district with those boxes on duty.
func opening(t *testing.T, r *block.Rules, boxes ...block.BoxID) block.State {
	t.Helper()
	s := r.Opening(time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC))
	for _, b := range boxes {
		next, _, err := r.Step(s, block.Event{Do: block.Duty, By: b, At: s.At()})
		require.NoError(t, err)
		s = next
	}
	return s
}

// Three boxes, the middle one with a closing switch, and so three sets of tokens: two short and one long. Every state that
// drawing and restoring for shunting and turning the switch can bring them into is explored: in none is a second token of
// a section out, nor a short one with a long one, and from each all can be brought back to normal (reference, other
// methods, 2.7: from memory; D11).
func TestEveryStateOfThreeTokenBoxes(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	var acts [][]block.Event
	var sections []block.SectionID
	for _, c := range r.Circuits() {
		if c.Method == "token" {
			acts = append(acts, shunts(c)...)
			sections = append(sections, c.Sections[0].ID)
		}
	}
	require.Len(t, sections, 3)
	var closes []block.Event
	for _, c := range []struct {
		circuit block.CircuitID
		other   block.BoxID
	}{{"OS-MI", "OS"}, {"MI-TO", "TO"}} {
		for _, by := range []block.BoxID{"MI", c.other} {
			closes = append(closes, block.Event{Do: block.Rung, By: by, Circuit: c.circuit, Beats: block.Beats{7, 5, 5}})
		}
	}
	closes = append(closes, block.Event{Do: block.Switch, By: "MI", Off: true})
	acts = append(acts, []block.Event{{Do: block.Switch, By: "MI"}}, closes)
	all := func(s block.State) (in, out map[block.SectionID]int) {
		in, out = make(map[block.SectionID]int), make(map[block.SectionID]int)
		for _, id := range sections {
			l, _ := r.Line(s, id)
			for _, n := range l.Token.In {
				in[id] += n
			}
			if l.Token.Out {
				out[id]++
			}
		}
		return in, out
	}
	begin := opening(t, r, "OS", "TO")
	whole, _ := all(begin)
	exploreStates(t, r, begin, acts, 0, func(s block.State, act []block.Event) bool {
		in, out := all(s)
		for _, id := range sections {
			require.Equal(t, whole[id], in[id]+out[id], "%v: tokens of %s", act, id)
		}
		long := block.SectionID("OS-TO Branch Single")
		require.False(t, out[long] > 0 && len(out) > 1, "%v: a short token is out with the long one", act)
		return len(out) > 0
	})
}

// shunts are a token drawn at either end of a circuit for shunting, put back with 2-5 and without, and 2-5 by itself.
func shunts(c block.Circuit) [][]block.Event {
	var all [][]block.Event
	for x, by := range c.Boxes {
		other, sec := c.Boxes[1-x], c.Sections[0].ID
		both := func(beats ...uint8) []block.Event {
			return []block.Event{{Do: block.Rung, By: by, Circuit: c.ID, Beats: beats}, {Do: block.Rung, By: other, Circuit: c.ID, Beats: beats}}
		}
		hold := block.Event{Do: block.Hold, By: other, Circuit: c.ID}
		letGo := hold
		letGo.Off = true
		draw := block.Event{Do: block.Token, By: by, Section: sec, Where: block.Drawn}
		back := block.Event{Do: block.Token, By: by, Section: sec, Where: block.Restored}
		all = append(all, append(both(5, 2), hold, draw, letGo), []block.Event{back}, append([]block.Event{back}, both(2, 5)...), both(2, 5))
	}
	return all
}

// exploreStates follows every act from every state reached, as far as that takes no more than so many irregular ones, and asks
// check of each state; what check tells is counted. At the end each state must have a way back to the first.
func exploreStates(t *testing.T, r *block.Rules, begin block.State, acts [][]block.Event, mistakes int, check func(s block.State, act []block.Event) bool) {
	t.Helper()
	type node struct {
		block.State
		wrong int   // irregular acts on the way here, as few as may be
		from  []int // the states it is reached from
	}
	seen := map[string]int{begin.Shape(): 0}
	states := []node{{State: begin}}
	steps, out := 0, 0
	layers := make([][]int, mistakes+1)
	layers[0] = []int{0}
	for wrong := range layers {
		for k := 0; k < len(layers[wrong]); k++ {
			n := layers[wrong][k]
			for _, act := range acts {
				next, bad := states[n].State, 0
				at := next.At().Add(3 * time.Minute)
				for _, e := range act {
					at = at.Add(3 * time.Second)
					e.At = at
					after, o, err := r.Step(next, e)
					if err == nil {
						next = after
					}
					for _, i := range o.Irregular {
						if i.Rule != "R01" { // no call is made in these evenings
							bad = 1
						}
					}
					steps++
				}
				counts := check(next, act)
				if wrong+bad > mistakes {
					continue
				}
				shape := next.Shape()
				to, ok := seen[shape]
				if !ok {
					to = len(states)
					seen[shape] = to
					states = append(states, node{State: next, wrong: wrong + bad})
					layers[wrong+bad] = append(layers[wrong+bad], to)
					if counts {
						out++
					}
				} else if wrong+bad < states[to].wrong {
					states[to].wrong = wrong + bad
					layers[wrong+bad] = append(layers[wrong+bad], to)
				}
				states[to].from = append(states[to].from, n)
			}
			require.Less(t, len(states), 30000, "the states do not come to an end: %d irregular, %+v", wrong, states[n].Shape())
		}
		t.Logf("by %d irregular acts: %d states, and of all %d met %d with a token out; %d steps", wrong, len(layers[wrong]), len(states), out, steps)
	}
	returns := make([]bool, len(states))
	for queue := []int{0}; len(queue) > 0; {
		n := queue[0]
		queue = queue[1:]
		if returns[n] {
			continue
		}
		returns[n] = true
		queue = append(queue, states[n].from...)
	}
	for n, ok := range returns {
		require.True(t, ok, "no way back to normal from state %d: %s", n, states[n].Shape())
	}
}
