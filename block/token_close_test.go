package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
)

// Long tokens and short ones are never out together, whatever is done at the three boxes of the branch and at the
// closing switch of the middle one, which no token that is out lets be turned (reference, other methods, 2.7: from
// memory; D11).
func TestLongAndShortTokensNeverTogether(t *testing.T) {
	turned, locked, long, short := 0, 0, 0, 0
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	var circuits []block.Circuit
	for _, c := range r.Circuits() {
		if c.Method == "token" {
			circuits = append(circuits, c)
		}
	}
	require.Len(t, circuits, 3, "OS-TO, OS-MI, MI-TO")
	rapid.Check(t, func(t *rapid.T) {
		now := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
		s := r.Opening(now)
		step := func(e block.Event) block.Outcome {
			e.At = now
			next, o, err := r.Step(s, e)
			if err == nil {
				s = next
			}
			return o
		}
		for _, b := range []block.BoxID{"OS", "TO"} {
			step(block.Event{Do: block.Duty, By: b})
		}
		for range rapid.IntRange(10, 80).Draw(t, "acts") {
			now = now.Add(time.Duration(rapid.IntRange(1, 40).Draw(t, "s")) * time.Second)
			c := circuits[rapid.IntRange(0, 2).Draw(t, "circuit")]
			x := rapid.IntRange(0, 1).Draw(t, "end")
			by, other, sec := c.Boxes[x], c.Boxes[1-x], c.Sections[0].ID
			switch rapid.IntRange(0, 5).Draw(t, "act") {
			case 0, 1:
				for _, e := range []block.Event{
					{Do: block.Rung, By: by, Circuit: c.ID, Beats: block.Beats{1}}, {Do: block.Rung, By: other, Circuit: c.ID, Beats: block.Beats{1}},
					{Do: block.Rung, By: by, Circuit: c.ID, Beats: block.Beats{5, 2}}, {Do: block.Rung, By: other, Circuit: c.ID, Beats: block.Beats{5, 2}},
					{Do: block.Hold, By: other, Circuit: c.ID}, {Do: block.Token, By: by, Section: sec, Where: block.Drawn}} {
					step(e)
				}
			case 2, 3:
				step(block.Event{Do: block.Token, By: by, Section: sec, Where: block.Restored})
			default:
				l, _ := r.Line(s, "OS-TO Branch Single")
				out := l.Token.Out
				o := step(block.Event{Do: block.Switch, By: "MI", Off: r.Works(s, "OS-MI")})
				if o.Ending == block.Refused {
					locked++
					require.Equal(t, block.SwitchLocked, o.Why)
				} else {
					turned++
					require.False(t, out, "the switch turned with a long token out")
				}
			}
			out := make(map[block.CircuitID]bool)
			for _, c := range circuits {
				l, _ := r.Line(s, c.Sections[0].ID)
				out[c.ID] = l.Token.Out
				if l.Token.Out {
					require.True(t, r.Works(s, c.ID), "a token of %s is out, and the boxes do not work together", c.ID)
				}
			}
			if out["OS-TO"] {
				long++
				require.False(t, out["OS-MI"] || out["MI-TO"], "a short token is out with the long one")
			}
			if out["OS-MI"] || out["MI-TO"] {
				short++
			}
		}
	})
	for what, n := range map[string]int{"switch turned": turned, "switch locked": locked, "long token out": long, "short token out": short} {
		require.NotZero(t, n, "%s: the walks never tried it", what)
	}
	t.Logf("switch turned %d times, locked %d; long token out after %d acts, a short one after %d", turned, locked, long, short)
}

// A key kept down after the last beat ends the code at once, and is the release: B16. With a token out nothing is
// released (reference, other methods, 2.2 steps 4 and 5; SVR).
func TestLastBeatHeldIsTheRelease(t *testing.T) {
	r := branch(t, "token", block.Free, "A", "B")
	c := r.Circuits()[0]
	now := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	s := r.Opening(now)
	step := func(e block.Event) block.Outcome {
		now = now.Add(200 * time.Millisecond)
		e.At = now
		next, o, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
		return o
	}
	for _, b := range c.Boxes {
		step(block.Event{Do: block.Duty, By: b})
	}
	for _, e := range []block.Event{{By: "A", Beats: block.Beats{1}}, {By: "B", Beats: block.Beats{1}}, {By: "A", Beats: block.Beats{4}}} {
		e.Do, e.Circuit = block.Rung, c.ID
		step(e)
	}
	draw := block.Event{Do: block.Token, By: "A", Section: c.Sections[0].ID, Where: block.Drawn}
	require.Equal(t, block.NoRelease, step(draw).Why)
	for range 4 {
		step(block.Event{Do: block.Beat, By: "B", Circuit: c.ID})
	}
	o := step(block.Event{Do: block.Hold, By: "B", Circuit: c.ID})
	require.Empty(t, o.Irregular)
	l, _ := r.Line(s, c.Sections[0].ID)
	require.True(t, l.Accepted, "the code is at an end when the key stays down")
	require.True(t, r.View(s, "A").Shelf[0].Lines[0].Token.Release, "the needle at A shows it")
	step(block.Event{Do: block.Hold, By: "B", Circuit: c.ID, Off: true})
	require.Equal(t, block.NoRelease, step(draw).Why, "let go before A drew: T2x")
	step(block.Event{Do: block.Hold, By: "B", Circuit: c.ID})
	require.Equal(t, block.Done, step(draw).Ending)
	require.Equal(t, block.TokenOut, step(draw).Why)
	require.Equal(t, block.TokenOut, step(block.Event{Do: block.Hold, By: "B", Circuit: c.ID}).Why)
	a, b := r.View(s, "A").Shelf[0].Lines[0].Token, r.View(s, "B").Shelf[0].Lines[0].Token
	require.Equal(t, block.GoingTo, a.Shows)
	require.Equal(t, "box", a.Hand)
	require.Equal(t, block.ComingFrom, b.Shows)
	require.Equal(t, "away", b.Hand)
	step(block.Event{Do: block.Token, By: "A", Section: c.Sections[0].ID, Where: block.Handed, Train: "7"})
	a = r.View(s, "A").Shelf[0].Lines[0].Token
	require.Equal(t, "train", a.Hand)
	require.Equal(t, block.TrainID("7"), a.Train)
	require.Empty(t, r.View(s, "B").Shelf[0].Lines[0].Token.Train, "B cannot see into A's hands")
}
