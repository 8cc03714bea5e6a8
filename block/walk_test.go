package block_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
	"taillamp/block/blocktest"
)

// district is a bare double line of three boxes with everything to be seen, at one of the three apparatus levels.
func district(t require.TestingT, level block.Level) *block.Rules {
	l := block.BareLayout()
	l.Settings.Lamps, l.Settings.Levers, l.Settings.Cautions = true, true, true
	for i, id := range []block.BoxID{"A", "B", "C"} {
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*1760, 440))
	}
	for i := 1; i < len(l.Boxes); i++ {
		d := block.DoubleLine(l.Boxes[i-1].ID, l.Boxes[i].ID, 1760)
		d.Level = level
		l.Between = append(l.Between, d)
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, &block.Timetable{})
	require.NoError(t, err)
	return r
}

var levels = []block.Level{block.Free, block.Sequential, block.Interlocked}

// walk plays a drawn evening and hands every act to see.
func walk(t *rapid.T, see func(r *block.Rules, before, after block.State, e block.Event, o block.Outcome, err error)) {
	r := district(t, rapid.SampledFrom(levels).Draw(t, "level"))
	length := rapid.IntRange(10, 120).Draw(t, "length")
	acts := blocktest.Walk(r, length, func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "n") })
	s := r.Opening(acts[0].At)
	for _, e := range acts {
		next, out, err := r.Step(s, e)
		if err == nil {
			t.Logf("%s", told(e, out))
		}
		see(r, s, next, e, out, err)
		s = next
	}
}

// told is an act and what came of it, for whoever reads why a walk failed.
func told(e block.Event, o block.Outcome) string {
	s := fmt.Sprintf("%s %s %s %s%s %s %s %s %s %s", e.At.Format("15:04:05.000"), e.By, e.Do, e.Circuit, e.Section, e.Beats, e.Show, e.Train, e.Where, e.Lamp)
	for _, c := range o.Changes {
		if c.Signal != nil {
			s += fmt.Sprintf(" | %s %s %s %s %s", c.Signal.By, c.Signal.Key, c.Signal.Sense, c.Signal.Did, c.Signal.First.Format("15:04:05.000"))
		}
	}
	for _, i := range o.Irregular {
		s += fmt.Sprintf(" | %s %s %s", i.Rule, i.Section, i.At.Format("15:04:05.000"))
	}
	return s
}

func safety(t *rapid.T) {
	var referee blocktest.Referee
	walk(t, func(r *block.Rules, before, after block.State, e block.Event, o block.Outcome, err error) {
		if err != nil {
			if !after.Equal(before) {
				t.Fatalf("%v cannot be, and yet changed something", e)
			}
			return
		}
		referee.Watch(e, o)
		needles(t, r, before, after, e, o)
		if o.Ending == block.Refused && (o.Why == "" || len(o.Changes) > len(codes(o))) {
			t.Fatalf("%v refused, and yet something moved: %+v", e, o)
		}
		if due, ok := r.Due(after); ok && e.Do == block.Tick && !due.After(e.At) {
			t.Fatalf("after the tick of %s something is still due at %s", e.At, due)
		}
	})
	if silent := referee.Silent(); len(silent) > 0 {
		t.Fatalf("%v", silent)
	}
}

// codes are the changes that only end a code whose quiet was over: an act finds out that time has passed.
func codes(o block.Outcome) []block.Change {
	var only []block.Change
	for _, c := range o.Changes {
		if c.Code != nil || c.Signal != nil {
			only = append(only, c)
		}
	}
	return only
}

// needles holds that a needle moves only by the hand of the box in advance (B6).
func needles(t *rapid.T, r *block.Rules, before, after block.State, e block.Event, o block.Outcome) {
	for _, l := range r.Lines(after) {
		was, _ := r.Line(before, l.Section.ID)
		if was.Shows == l.Shows {
			continue
		}
		if e.Do != block.Turn || e.By != l.Section.Advance || e.Section != l.Section.ID || o.Ending != block.Done {
			t.Fatalf("the needle of %s moved from %s to %s by %s of %s", l.Section.ID, was.Shows, l.Shows, e.Do, e.By)
		}
	}
}

// Any sequence of acts, sensible and mad, keeps what must hold: nothing changes by what cannot be or was refused,
// needles move by the box in advance alone, and no section holds two trains with nothing recorded of it.
func TestAnyEveningIsSafe(t *testing.T) { rapid.Check(t, safety) }

func FuzzSafety(f *testing.F) {
	for n := range 4 { // seeds: evenings of four hands
		seed := make([]byte, 4096)
		for i := range seed {
			seed[i] = byte(i * (7 + 2*n) >> (n % 3))
		}
		f.Add(seed)
	}
	f.Fuzz(rapid.MakeFuzz(safety))
}

// One acceptance serves one train: a train that goes regularly uses up an acceptance that none has used before.
func TestOneAcceptanceOneTrain(t *testing.T) {
	regular := 0
	rapid.Check(t, func(t *rapid.T) {
		var accepted, went []block.Irregularity // where and when
		var irregular []block.Irregularity
		walk(t, func(r *block.Rules, _, after block.State, e block.Event, o block.Outcome, err error) {
			if err != nil {
				return
			}
			irregular = append(irregular, o.Irregular...)
			for _, i := range o.Irregular {
				if i.Rule == "R34" || i.Rule == "R05" { // what that train goes on has been told of
					accepted = append(accepted, i)
				}
			}
			for _, c := range o.Changes {
				if s := c.Signal; s != nil && (s.Did == block.Accepted || s.Did == block.AcceptedW) {
					accepted = append(accepted, block.Irregularity{Section: s.Section, At: s.First})
				}
			}
			if l, _ := r.Line(after, e.Section); e.Do == block.Train && e.Where == block.Leaves && !l.Forward {
				went = append(went, block.Irregularity{Section: e.Section, At: e.At})
			}
		})
		for _, w := range went {
			same := func(i block.Irregularity) bool { return i.Section == w.Section && i.At.Equal(w.At) && i.Rule != "R05" }
			if slices.ContainsFunc(irregular, same) {
				continue
			}
			regular++
			a := slices.IndexFunc(accepted, func(a block.Irregularity) bool { return a.Section == w.Section && !a.At.After(w.At) })
			if a < 0 {
				t.Fatalf("%s: a train went into %s on no acceptance and nobody told", w.At, w.Section)
			}
			accepted = slices.Delete(accepted, a, a+1)
		}
	})
	require.NotZero(t, regular, "no train ever went regularly: the walks try nothing")
}

// The same acts give the same state and the same outcomes, whoever plays them and when (replay).
func TestReplayedStateIsTheLiveState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var events []block.Event
		var outcomes []string
		var rules *block.Rules
		var live block.State
		walk(t, func(r *block.Rules, _, after block.State, e block.Event, o block.Outcome, err error) {
			rules, live = r, after
			if err == nil {
				events, outcomes = append(events, e), append(outcomes, fmt.Sprintf("%+v", o.Irregular))
			}
		})
		again := rules.Opening(events[0].At)
		for i, e := range events {
			next, o, err := rules.Step(again, e)
			if err != nil || fmt.Sprintf("%+v", o.Irregular) != outcomes[i] {
				t.Fatalf("%v came out otherwise: %v %+v, not %s", e, err, o.Irregular, outcomes[i])
			}
			again = next
		}
		if again.Digest() != live.Digest() || !again.Equal(live) {
			t.Fatalf("replayed state differs from the live one")
		}
	})
}

// An offer left alone for a whole day is still not accepted, and nothing in either box's view suggests that it was
// answered; the sender may ring again (B5).
func TestSilenceRefusesForADay(t *testing.T) {
	r := district(t, block.Free)
	s := r.Opening(time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC))
	at := s.At()
	step := func(after time.Duration, e block.Event) block.Outcome {
		at = at.Add(after)
		e.At = at
		next, o, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
		return o
	}
	for _, b := range []block.BoxID{"A", "B", "C"} {
		step(0, block.Event{Do: block.Duty, By: b})
	}
	circuit := r.Circuits()[0].ID
	rings := func(after time.Duration, by block.BoxID, code ...uint8) block.Outcome {
		return step(after, block.Event{Do: block.Rung, By: by, Circuit: circuit, Beats: code})
	}
	rings(time.Second, "A", 1)
	rings(3*time.Second, "B", 1)
	rings(3*time.Second, "A", 4)
	for range 24 * 60 {
		step(time.Minute, block.Event{Do: block.Tick})
		l, _ := r.Line(s, "A-B Down Main")
		require.True(t, l.Offered)
		require.False(t, l.Accepted)
		require.Equal(t, block.Blocked, l.Shows)
	}
	for _, box := range []block.BoxID{"A", "B"} {
		require.Len(t, r.View(s, box).Shelf[0].Offers, 1, "%s still sees the offer unanswered", box)
	}
	o := rings(time.Minute, "A", 1)
	require.Empty(t, o.Irregular)
	rings(3*time.Second, "B", 1)
	o = rings(3*time.Second, "A", 4)
	require.Empty(t, o.Irregular, "the sender may ring again at any time")
	rings(4*time.Second, "B", 4)
	l, _ := r.Line(s, "A-B Down Main")
	require.True(t, l.Accepted, "and is accepted when the box in advance answers")
}
