package review_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
)

// A pause of the evening counts for nobody: what an act after it would be late by is taken out, and what is found is dated
// at the moment at which it was done. Story A12, and absolute-block reference, section 7, R03 and R33.
func TestPausesCountForNobody(t *testing.T) {
	r := doubleLine(t)
	start := time.Date(1961, 10, 17, 16, 0, 0, 0, time.UTC)
	at := func(sec int) time.Time { return start.Add(time.Duration(sec) * time.Second) }
	evening := func(paused int) []block.Entry {
		rings := func(sec int, by block.BoxID, beats ...uint8) block.Event {
			return block.Event{Do: block.Rung, At: at(sec), By: by, Circuit: "A-B", Beats: beats}
		}
		p := paused
		events := []block.Event{
			{Do: block.Duty, At: at(0), By: "A"}, {Do: block.Duty, At: at(0), By: "B"},
			rings(10, "A", 1), rings(12, "B", 1), rings(15, "A", 4), rings(18, "B", 4),
			{Do: block.Turn, At: at(20), By: "B", Section: "A-B Down Main", Show: block.Clear},
			{Do: block.Train, At: at(60), By: "A", Section: "A-B Down Main", Where: block.Leaves, Train: "1"},
		}
		if p > 0 {
			events = append(events, block.Event{Do: block.Pace, At: at(70), Off: true}, block.Event{Do: block.Pace, At: at(70 + p)})
		}
		events = append(events, rings(80+p, "A", 2), rings(83+p, "B", 2),
			block.Event{Do: block.Turn, At: at(85 + p), By: "B", Section: "A-B Down Main", Show: block.Occupied},
			block.Event{Do: block.Remark, At: at(200 + p), By: "B", Words: "waiting"},
			rings(300+p, "A", 1), // not answered: this one is late
			block.Event{Do: block.Remark, At: at(400 + p), By: "A", Words: "no answer"})
		state := r.Opening(start)
		var entries []block.Entry
		for n, e := range events {
			next, out, err := r.Step(state, e)
			require.NoError(t, err, "%d", n)
			state = next
			entries = append(entries, block.Entry{Seq: uint64(n + 1), Event: e, Outcome: out})
		}
		return entries
	}
	found := func(entries []block.Entry) []review.Finding {
		var list []review.Finding
		for f, err := range review.Of(r, all(entries)) {
			require.NoError(t, err)
			list = append(list, f)
		}
		return list
	}
	without, with := found(evening(0)), found(evening(1800))
	require.NotEmpty(t, without, "the call that nobody answers")
	require.Len(t, with, len(without))
	for n := range with {
		require.Equal(t, without[n].Rule, with[n].Rule)
		require.Equal(t, without[n].At.Add(30*time.Minute), with[n].At, "dated at the moment itself")
	}
}

// doubleLine is a line of two tracks between two boxes, A and B, a mile apart.
func doubleLine(t *testing.T) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	for i, id := range []block.BoxID{"A", "B"} {
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*1760, 440))
	}
	l.Between = append(l.Between, block.DoubleLine("A", "B", 1760))
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, nil)
	require.NoError(t, err)
	return r
}
