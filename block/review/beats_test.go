package review_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// Rung beat by beat, as tablets ring, a code ends by quiet: by a tick that is no box's act. A 2-1 on a permissive line then
// takes its count down with nobody at the handle, and the review reads on.
func TestCountGoesDownInATick(t *testing.T) {
	n, err := notes.Read([]byte("boxes A B\nmethod permissive A B capacity 2\nbook 1960-letters\nlevel free\n10:00:00 A remarks \"begins\"\n"), nil)
	require.NoError(t, err)
	r := n.Rules
	var loop block.Section
	for _, c := range r.Circuits() {
		for _, s := range c.Sections {
			if s.Method == "permissive" {
				loop = s
			}
		}
	}
	at := time.Date(1961, 10, 17, 10, 0, 0, 0, time.UTC)
	s := r.Opening(at)
	var entries []block.Entry
	do := func(e block.Event) {
		t.Helper()
		e.At = at
		next, o, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
		entries = append(entries, block.Entry{Seq: uint64(len(entries) + 2), Event: e, Outcome: o})
	}
	rings := func(by block.BoxID, groups ...int) {
		t.Helper()
		for _, g := range groups {
			for range g {
				at = at.Add(250 * time.Millisecond)
				do(block.Event{Do: block.Beat, By: by, Circuit: loop.Circuit})
			}
			at = at.Add(600 * time.Millisecond)
		}
		at = at.Add(3 * time.Second)
		do(block.Event{Do: block.Tick})
	}
	both := func(from, to block.BoxID, groups ...int) {
		t.Helper()
		rings(from, groups...)
		rings(to, groups...)
	}
	both("A", "B", 1)
	both("A", "B", 3)
	do(block.Event{Do: block.Turn, By: "B", Section: loop.ID, Show: block.Clear})
	at = at.Add(time.Minute)
	do(block.Event{Do: block.Train, By: "A", Section: loop.ID, Where: block.Leaves, Train: "1"})
	both("A", "B", 2)
	do(block.Event{Do: block.Turn, By: "B", Section: loop.ID, Show: block.Occupied})
	at = at.Add(5 * time.Minute)
	do(block.Event{Do: block.Train, By: "B", Section: loop.ID, Where: block.Passes, Train: "1", Lamp: block.LampSeen})
	both("B", "A", 1)
	both("B", "A", 2, 1)
	down := false
	for _, c := range entries[len(entries)-1].Outcome.Changes {
		down = down || c.Indicator != nil && c.Indicator.Count == 0
	}
	require.True(t, down, "the count went down in the tick")
	do(block.Event{Do: block.Turn, By: "B", Section: loop.ID, Show: block.Blocked})
	for f, err := range review.Of(r, all(entries)) {
		require.NoError(t, err)
		t.Errorf("%s at %s: %s", f.Rule, f.Box, f.Says)
	}
}
