package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// C2: 2 rung by mistake on a single line, with no train gone and no token out, is cancelled by 3-5, and the line is free
// again; before that no advice left the line occupied for ever (common practice, no source). A train that has gone, though
// without a token, or whose token has come in, is never cancelled so.
func TestEnteringByMistakeIsCancelled(t *testing.T) {
	r := branch(t, "token", block.Free, "A", "B")
	c := r.Circuits()[0]
	sec := c.Sections[0].ID
	began := time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC)
	begin := func() (func(block.Event), func(block.BoxID) []block.Advice, func() string) {
		s := r.Opening(began)
		step := func(e block.Event) {
			t.Helper()
			e.At = s.At().Add(4 * time.Second)
			next, _, err := r.Step(s, e)
			require.NoError(t, err)
			s = next
		}
		advice := func(box block.BoxID) []block.Advice { return r.Next(r.View(s, box)) }
		stands := func() string { l, _ := r.Line(s, sec); return l.Standing }
		step(block.Event{Do: block.Duty, By: "A"})
		step(block.Event{Do: block.Duty, By: "B"})
		return step, advice, stands
	}
	rings := func(by block.BoxID, beats ...byte) block.Event {
		return block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: block.Beats(beats)}
	}
	hasCancel := func(all []block.Advice) bool {
		for _, a := range all {
			if a.Key == "cancelling" || a.Key == "call-attention" && !a.Answers {
				return true
			}
		}
		return false
	}

	step, advice, stands := begin()
	step(rings("A", 2))
	require.Equal(t, "ENT", stands())
	for n := 0; stands() != "IDLE" && n < 8; n++ { // both do as they are advised
		for _, box := range []block.BoxID{"A", "B"} {
			if all := advice(box); len(all) > 0 {
				step(all[0].Event(box))
			}
		}
	}
	require.Equal(t, "IDLE", stands())
	require.Empty(t, advice("A"))

	step, advice, stands = begin()
	step(block.Event{Do: block.Train, By: "A", Section: sec, Where: block.Leaves, Train: "1"})
	step(rings("A", 2))
	step(rings("B", 2))
	require.Equal(t, "LINE", stands())
	require.False(t, hasCancel(advice("A")), "it has gone, though without a token")

	step, advice, stands = begin()
	for _, e := range []block.Event{rings("A", 1), rings("B", 1), rings("A", 3, 1), rings("B", 3, 1), {Do: block.Hold, By: "B", Circuit: c.ID},
		{Do: block.Token, By: "A", Section: sec, Where: block.Drawn}, {Do: block.Hold, By: "B", Circuit: c.ID, Off: true},
		{Do: block.Token, By: "A", Section: sec, Where: block.Handed, Train: "1"}, rings("A", 2), rings("B", 2),
		{Do: block.Token, By: "B", Section: sec, Where: block.GivenUp, Train: "1"}, {Do: block.Token, By: "B", Section: sec, Where: block.Restored}} {
		step(e)
	}
	require.Equal(t, "LINE", stands())
	require.False(t, hasCancel(advice("A")), "its token is in at the other end: 2-1 is to come")
}

// C2: the same on a double line: 2 for a train that was never offered, and that nobody saw go, is cancelled (row 24 of the
// absolute-block reference), and both needles are at line blocked afterwards.
func TestEnteringOfNoTrainIsCancelled(t *testing.T) {
	r, err := block.Embedded("tiny")
	require.NoError(t, err)
	s := r.Opening(time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC))
	step := func(e block.Event) {
		t.Helper()
		e.At = s.At().Add(4 * time.Second)
		next, _, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
	}
	c := r.Circuits()[0]
	rear, advance := c.Boxes[0], c.Boxes[1]
	for _, b := range r.Layout().Boxes {
		step(block.Event{Do: block.Duty, By: b.ID})
	}
	step(block.Event{Do: block.Rung, By: rear, Circuit: c.ID, Beats: block.Beats{2}})
	line := func() block.LineState { l, _ := r.Line(s, c.Sections[0].ID); return l }
	require.Equal(t, "ENT", line().Standing)
	for n := 0; n < 12; n++ { // both do as they are advised
		for _, box := range []block.BoxID{rear, advance} {
			if all := r.Next(r.View(s, box)); len(all) > 0 {
				step(all[0].Event(box))
			}
		}
	}
	require.Equal(t, "IDLE", line().Standing)
	require.Equal(t, block.Blocked, line().Shows)
}
