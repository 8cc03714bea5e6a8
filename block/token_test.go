package block_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
)

// branch is a row of boxes joined by single lines worked by token, one token at each end.
func branch(t require.TestingT, method string, level block.Level, ids ...block.BoxID) *block.Rules {
	l := block.BareLayout()
	l.Settings.Lamps, l.Settings.Levers = true, true
	for i, id := range ids {
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*1760, 440))
	}
	for i := 1; i < len(ids); i++ {
		require.NoError(t, block.SetMethod(l, method, ids[i-1], ids[i], []string{"tokens", "1", "1"}))
		l.Between[i-1].Level = level
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, &block.Timetable{})
	require.NoError(t, err)
	return r
}

// doings are everything that can be done at the two ends of a single line, and the trains that can run on it: "1" from
// the one end, "2" from the other.
func doings(c block.Circuit) []block.Event {
	sec := c.Sections[0].ID
	var all []block.Event
	for x, by := range c.Boxes {
		for _, beats := range []block.Beats{{3, 1}, {2}, {2, 1}, {3, 5}, {5, 2}, {2, 5}, {3, 3}} {
			all = append(all, block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: beats})
		}
		all = append(all,
			block.Event{Do: block.Hold, By: by, Circuit: c.ID},
			block.Event{Do: block.Hold, By: by, Circuit: c.ID, Off: true},
			block.Event{Do: block.Token, By: by, Section: sec, Where: block.Drawn},
			block.Event{Do: block.Token, By: by, Section: sec, Where: block.Restored})
		mine, his := block.TrainID("12"[x:x+1]), block.TrainID("21"[x:x+1])
		all = append(all,
			block.Event{Do: block.Token, By: by, Section: sec, Where: block.Handed, Train: mine},
			block.Event{Do: block.Token, By: by, Section: sec, Where: block.GivenUp, Train: his},
			block.Event{Do: block.Train, By: by, Section: sec, Where: block.Leaves, Train: mine},
			block.Event{Do: block.Train, By: by, Section: sec, Where: block.Returns, Train: mine},
			block.Event{Do: block.Train, By: by, Section: sec, Where: block.Passes, Lamp: block.LampSeen, Train: his})
	}
	return all
}

// whereabouts are the tokens and trains of one section by plain bookkeeping of what happened, apart from the machine.
type whereabouts struct {
	out     int
	in      map[block.BoxID]int
	trains  map[block.TrainID]bool
	accused bool // something irregular has been recorded, or refused
}

// watch keeps the books of one act.
func (w *whereabouts) watch(e block.Event, o block.Outcome) error {
	if w.in == nil {
		w.in, w.trains = make(map[block.BoxID]int), make(map[block.TrainID]bool)
	}
	w.accused = w.accused || len(o.Irregular) > 0
	if o.Ending != block.Done {
		return nil
	}
	switch {
	case e.Do == block.Token && e.Where == block.Drawn:
		w.out++
		w.in[e.By]--
	case e.Do == block.Token && e.Where == block.Restored:
		w.out--
		w.in[e.By]++
	case e.Do == block.Train && e.Where == block.Leaves:
		w.trains[e.Train] = true
	case e.Do == block.Train:
		delete(w.trains, e.Train)
	}
	if w.out < 0 || w.out > 1 {
		return fmt.Errorf("%d tokens of one section are out", w.out)
	}
	if len(w.trains) > 1 && !w.accused {
		return fmt.Errorf("two trains are on the single line, and nothing irregular has been recorded")
	}
	return nil
}

// Whatever is done at the two ends of a single line, never are two tokens out, none is lost or made, and no two trains
// meet with nothing recorded (reference, other methods, 2.1 and TK-01; SVR: a token comes out only if all are in).
func TestNeverTwoTokensOut(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.SampledFrom(levels).Draw(t, "level")
		r := branch(t, rapid.SampledFrom([]string{"token", "tablet", "electricStaff"}).Draw(t, "method"), level, "A", "B", "C")
		now := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
		s := r.Opening(now)
		var all []block.Event
		where := make(map[block.CircuitID]*whereabouts)
		for _, c := range r.Circuits() {
			all = append(all, doings(c)...)
			where[c.ID] = &whereabouts{}
		}
		step := func(e block.Event) {
			e.At = now
			next, o, err := r.Step(s, e)
			if err != nil {
				if !next.Equal(s) {
					t.Fatalf("%v cannot be, and yet changed something", e)
				}
				return
			}
			s = next
			c := e.Circuit
			if sec, ok := r.Section(e.Section); ok {
				c = sec.Circuit
			}
			w := where[c]
			if w == nil {
				return
			}
			if err := w.watch(e, o); err != nil {
				t.Fatalf("%s: %v", told(e, o), err)
			}
			if e.Where == block.Drawn && o.Ending == block.Done {
				drawn++
			}
		}
		for _, b := range []block.BoxID{"A", "B", "C"} {
			step(block.Event{Do: block.Duty, By: b})
		}
		for range rapid.IntRange(10, 150).Draw(t, "acts") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{0, 1, 3, 20, 130}).Draw(t, "s")) * time.Second)
			if v := r.View(s, "B"); rapid.IntRange(0, 2).Draw(t, "sense") > 0 {
				likely(r, s, v, rapid.IntRange(0, 2).Draw(t, "box"), step)
				continue
			}
			step(all[rapid.IntRange(0, len(all)-1).Draw(t, "act")])
		}
		for _, c := range r.Circuits() {
			l, _ := r.Line(s, c.Sections[0].ID)
			w, sum := where[c.ID], 0
			for _, b := range c.Boxes {
				require.Equal(t, 1+w.in[b], l.Token.In[b], "tokens in the instrument at %s", b)
				sum += l.Token.In[b]
			}
			require.Equal(t, w.out == 1, l.Token.Out)
			require.Equal(t, 2, sum+w.out, "tokens of %s", c.ID)
		}
	})
	require.NotZero(t, drawn, "no token was ever drawn: the walks try nothing")
}

// likely does the first thing that a right signaller of one of the boxes would do, with a train to send both ways.
func likely(r *block.Rules, s block.State, _ block.View, n int, step func(block.Event)) {
	box := []block.BoxID{"A", "B", "C"}[n]
	v := r.View(s, box)
	for _, i := range v.Shelf {
		v.Sends = append(v.Sends, block.Sending{Section: i.Lines[0].Section, Beats: block.Beats{3, 1}})
	}
	advice := r.Next(v)
	if len(advice) == 0 {
		return
	}
	step(advice[0].Event(box))
	if advice[0].Held {
		step(block.Event{Do: block.Hold, By: box, Circuit: advice[0].Circuit})
	}
}

// What one end of a single line sees of a train that comes, the end that it left cannot know.
func TestTrainIsSeenFromOneEndOnly(t *testing.T) {
	r := branch(t, "token", block.Free, "A", "B")
	s := r.Opening(time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC))
	sec := r.Circuits()[0].Sections[0].ID
	for _, e := range []block.Event{
		{Do: block.Duty, By: "A"}, {Do: block.Duty, By: "B"},
		{Do: block.Train, By: "A", Section: sec, Where: block.Leaves, Train: "1"},
		{Do: block.Train, By: "B", Section: sec, Where: block.Heads, Train: "1"},
	} {
		e.At = s.At()
		next, _, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
	}
	for box, where := range map[block.BoxID]block.Place{"A": "", "B": block.Heads} {
		trains := r.View(s, box).Shelf[0].Lines[0].Trains
		require.Len(t, trains, 1, box)
		require.Equal(t, where, trains[0].Where, box)
	}
}
