package register_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// worked steps a train being called and offered, as entries.
func worked(t testing.TB) (*block.Rules, time.Time, []block.Entry, block.State) {
	t.Helper()
	r, err := block.Embedded("tiny")
	require.NoError(t, err)
	began := time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
	s := r.Opening(began)
	var all []block.Entry
	at := began
	do := func(e block.Event) {
		at = at.Add(5 * time.Second)
		e.At = at
		next, out, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
		all = append(all, block.Entry{Seq: uint64(len(all) + 1), Event: e, Outcome: out})
	}
	do(block.Event{Do: block.Duty, By: "UL"})
	do(block.Event{Do: block.Duty, By: "OS"})
	all = append(all, block.Entry{Seq: 3, Mark: block.Open, At: at})
	for _, rung := range []struct{ by, code string }{{"UL", "1"}, {"OS", "1"}, {"UL", "3-1"}, {"OS", "3-1"}} {
		beats, err := block.ParseBeats(rung.code)
		require.NoError(t, err)
		do(block.Event{Do: block.Rung, By: block.BoxID(rung.by), Circuit: "UL-OS", Beats: beats})
	}
	do(block.Event{Do: block.Beat, By: "UL", Circuit: "UL-OS"})
	do(block.Event{Do: block.Tick})
	return r, began, all, s
}

func TestReplayComesToTheSameState(t *testing.T) {
	r, began, entries, live := worked(t)
	got, err := register.Replay(r, began, register.InOrder(entries))
	require.NoError(t, err)
	require.Equal(t, live.Digest(), got.Digest())
}

// Whatever of an outcome was altered, the entry is named, and the state before it returned.
func TestReplayNamesTheFirstEntryThatDiffers(t *testing.T) {
	for name, alter := range map[string]func(o *block.Outcome){
		"ending":       func(o *block.Outcome) { o.Ending, o.Why = block.Refused, block.Failed },
		"a ring":       func(o *block.Outcome) { o.Rings = nil },
		"ring's time":  func(o *block.Outcome) { o.Rings[0].Pressed = o.Rings[0].Pressed.Add(time.Millisecond) },
		"a change":     func(o *block.Outcome) { o.Changes = append(o.Changes, block.Change{Duty: &block.OnDuty{Box: "UL"}}) },
		"irregularity": func(o *block.Outcome) { o.Irregular = append(o.Irregular, block.Irregularity{Rule: "R1"}) },
	} {
		t.Run(name, func(t *testing.T) {
			r, began, entries, _ := worked(t)
			last := len(entries) - 2 // the beat
			alter(&entries[last].Outcome)
			before, err := register.Replay(r, began, register.InOrder(entries[:last]))
			require.NoError(t, err)
			got, err := register.Replay(r, began, register.InOrder(entries))
			var differs *register.DiffersError
			require.ErrorAs(t, err, &differs)
			require.Equal(t, entries[last].Seq, differs.Seq)
			require.Equal(t, before.Digest(), got.Digest())
		})
	}
}

func TestReplayNamesAnEventThatCannotBe(t *testing.T) {
	r, began, entries, _ := worked(t)
	_, err := register.Replay(r, began, register.InOrder(entries[1:])) // Ullathwick never signed on
	var differs *register.DiffersError
	require.ErrorAs(t, err, &differs)
	require.ErrorIs(t, err, block.ErrOffDuty)
	require.True(t, errors.Is(differs.Err, block.ErrOffDuty))
}
