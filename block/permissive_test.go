package block_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
)

// loop is two boxes joined by a goods loop alone, which holds two trains.
func loop(t require.TestingT, level block.Level, answer string) *block.Rules {
	l := block.BareLayout()
	for i, id := range []block.BoxID{"A", "B"} {
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*1760, 440))
	}
	require.NoError(t, block.SetMethod(l, "permissive", "A", "B", []string{"capacity", "2", "answer", answer}))
	l.Between[0].Level = level
	r, err := block.NewRules(l, nil, nil)
	require.NoError(t, err)
	return r
}

// However the two ends of a loop are worked, never are more trains on it than it holds, nor a passenger train with
// another, with nothing recorded; and the count goes up by the handle and down by 2-1 alone (B17; reference, other
// methods, 5: from memory).
func TestAnyLoopIsSafe(t *testing.T) {
	most := 0
	rapid.Check(t, func(t *rapid.T) {
		r := loop(t, rapid.SampledFrom(levels).Draw(t, "level"), rapid.SampledFrom([]string{"repeat", "2-4-1"}).Draw(t, "answer"))
		c := r.Circuits()[0]
		sec := c.Sections[0].ID
		now := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
		s := r.Opening(now)
		accused, trains := false, map[block.TrainID]bool{} // whether it carries passengers, by the code it was accepted with
		asked := map[time.Time]bool{}                      // the same of each offer
		carries, number := false, 0
		step := func(e block.Event) {
			e.At = now
			before := r.Lines(s)[0]
			next, o, err := r.Step(s, e)
			if err != nil {
				require.True(t, next.Equal(s), "%v cannot be, and yet changed something", e)
				return
			}
			s = next
			after := r.Lines(s)[0]
			switch {
			case after.Count > before.Count:
				require.True(t, e.Do == block.Turn && e.Show == block.Occupied, "%v counted one more", e)
			case after.Count < before.Count:
				require.True(t, e.Do == block.Turn || e.Do == block.Rung && after.Count == before.Count-1, "%v counted down", e)
			}
			for _, i := range o.Irregular {
				accused = accused || i.Rule != "R01"
			}
			for _, ch := range o.Changes {
				if g := ch.Signal; g != nil && g.Did == block.Offered {
					asked[g.First] = g.Beats.Equal(block.Beats{3, 1})
				} else if g != nil && g.Did == block.Accepted {
					carries = asked[g.To]
				}
			}
			if e.Do == block.Train {
				if delete(trains, e.Train); e.Where == block.Leaves {
					trains[e.Train] = carries
				}
			}
			most = max(most, len(trains))
			passengers := false
			for _, p := range trains { // order does not matter: any one
				passengers = passengers || p
			}
			if !accused && (len(trains) > 2 || len(trains) > 1 && passengers) {
				t.Fatalf("%s: %d trains are on the line, with passengers %v, and nobody told", told(e, o), len(trains), passengers)
			}
		}
		for _, b := range c.Boxes {
			step(block.Event{Do: block.Duty, By: b})
		}
		rings := func(by block.BoxID, beats ...uint8) {
			step(block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: beats})
		}
		leaves := func() {
			number++
			step(block.Event{Do: block.Train, By: "A", Section: sec, Where: block.Leaves, Train: block.TrainID(strconv.Itoa(number))})
		}
		for range rapid.IntRange(10, 100).Draw(t, "acts") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{1, 3, 20, 130}).Draw(t, "s")) * time.Second)
			n := rapid.IntRange(0, 19).Draw(t, "act")
			switch {
			case n < 9: // what a right signaller would do, a train waiting at A
				box := c.Boxes[n%2]
				v := r.View(s, box)
				v.Sends = []block.Sending{{Section: sec, Beats: []block.Beats{{4, 1}, {3, 1}}[n/8]}}
				if a := r.Next(v); len(a) > 0 {
					step(a[0].Event(box))
				}
			case n < 12:
				if l := r.Lines(s)[0]; l.Accepted {
					leaves()
				}
			case n < 14 && number > 0:
				id := block.TrainID(strconv.Itoa(1 + rapid.IntRange(0, number-1).Draw(t, "train")))
				step(block.Event{Do: block.Train, By: "B", Section: sec, Where: block.Passes, Lamp: block.LampSeen, Train: id})
			case n == 14:
				leaves()
			case n == 15:
				step(block.Event{Do: block.Turn, By: "B", Section: sec, Show: aspects[rapid.IntRange(0, 2).Draw(t, "show")]})
			case n == 16:
				rings("A", 2)
			case n == 17:
				rings("B", 2, 1)
			case n == 18:
				rings("B", []uint8{2, 4, 1}...)
			default:
				rings("A", 3, 1)
			}
		}
	})
	require.Greater(t, most, 1, "never were two trains on the line: the walks try nothing")
}

var aspects = []block.Aspect{block.Blocked, block.Clear, block.Occupied}
