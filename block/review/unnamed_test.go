package review_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
)

// Simulated trains leave by name; a signaller who holds the tail lamp of one names none. It is the same train: of two worked by
// the book, one after the other, nothing is found, and of one whose 2 never came R31 is.
func TestTailLampNamesNoTrain(t *testing.T) {
	r := doubleLine(t)
	start := time.Date(1961, 10, 17, 16, 0, 0, 0, time.UTC)
	found := func(two bool) []block.RuleID {
		state := r.Opening(start)
		var entries []block.Entry
		at := start
		does := func(sec int, e block.Event) {
			t.Helper()
			at = at.Add(time.Duration(sec) * time.Second)
			e.At = at
			next, out, err := r.Step(state, e)
			require.NoError(t, err)
			state = next
			entries = append(entries, block.Entry{Seq: uint64(len(entries) + 1), Event: e, Outcome: out})
		}
		const line = "A-B Down Main"
		rings := func(sec int, by block.BoxID, beats ...uint8) {
			does(sec, block.Event{Do: block.Rung, By: by, Circuit: "A-B", Beats: beats})
		}
		does(0, block.Event{Do: block.Duty, By: "A"})
		does(0, block.Event{Do: block.Duty, By: "B"})
		for _, train := range []block.TrainID{"1", "4"} {
			rings(10, "A", 1)
			rings(2, "B", 1)
			rings(3, "A", 4)
			rings(3, "B", 4)
			does(2, block.Event{Do: block.Turn, By: "B", Section: line, Show: block.Clear})
			does(30, block.Event{Do: block.Train, By: "A", Section: line, Where: block.Leaves, Train: train})
			if two || train == "1" {
				rings(3, "A", 2)
				rings(3, "B", 2)
			}
			does(2, block.Event{Do: block.Turn, By: "B", Section: line, Show: block.Occupied})
			does(90, block.Event{Do: block.Train, By: "B", Section: line, Where: block.Heads, Train: train})
			does(15, block.Event{Do: block.Train, By: "B", Section: line, Where: block.Passes, Lamp: block.LampSeen})
			rings(5, "B", 1)
			rings(2, "A", 1)
			rings(3, "B", 2, 1)
			rings(3, "A", 2, 1)
			does(2, block.Event{Do: block.Turn, By: "B", Section: line, Show: block.Blocked})
		}
		does(300, block.Event{Do: block.Remark, By: "A", Words: "quiet"})
		var rules []block.RuleID
		for f, err := range review.Of(r, all(entries)) {
			require.NoError(t, err)
			rules = append(rules, f.Rule)
		}
		return rules
	}
	require.Empty(t, found(true))
	require.Contains(t, found(false), block.RuleID("R31"))
}
