package sim_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// sitting is a sitting worked by hand: a company, the rules, and a clock that jumps to whatever is due next.
type sitting struct {
	t       *testing.T
	r       *block.Rules
	c       *sim.Company
	state   block.State
	entries []block.Entry
	now     time.Time
}

func (s *sitting) enter(e block.Event) (block.Outcome, block.State, bool) {
	next, out, err := s.r.Step(s.state, e)
	if err != nil {
		return out, s.state, false
	}
	s.state = next
	s.entries = append(s.entries, block.Entry{Seq: uint64(len(s.entries) + 1), Event: e, Outcome: out})
	return out, next, true
}

// until runs codes to their end and the company's doings, in order, up to a moment.
func (s *sitting) until(end time.Time) {
	for s.now.Before(end) {
		next := end
		if due, ok := s.r.Due(s.state); ok && due.Before(next) {
			next = due
		}
		if due, ok := s.c.Due(); ok && due.Before(next) {
			next = due
		}
		if next.After(s.now) {
			s.now = next
		}
		s.tick()
		s.c.Advance(s.now, s.enter)
	}
}

// tick has a code that is at its end by quiet be read.
func (s *sitting) tick() {
	if due, ok := s.r.Due(s.state); ok && !due.After(s.now) {
		out, state, ok := s.enter(block.Event{Do: block.Tick, At: s.now})
		require.True(s.t, ok)
		if s.c != nil {
			s.c.Saw(block.Event{Do: block.Tick, At: s.now}, out, state)
		}
	}
}

// A company rings every beat, as ears must hear it, and works the tiny day as right as in whole codes (G1). Broken off
// in the middle and gone on with from the record alone, it finishes the day.
func TestCompanyWorksADayBeatByBeat(t *testing.T) {
	for _, broken := range []bool{false, true} {
		r, err := block.Embedded("tiny")
		require.NoError(t, err)
		all := func(block.BoxID) bool { return true }
		s := &sitting{t: t, r: r, state: r.Opening(evening), now: evening}
		s.c = sim.NewCompany(r, sim.Options{Seed: 5, Begins: evening}, all, s.state)
		s.c.Begin(s.now, s.state, s.enter)
		end := evening.Add(3 * time.Hour)
		if broken {
			s.until(evening.Add(70 * time.Minute))
			s.c = sim.NewCompany(r, sim.Options{Seed: 6, Begins: evening}, all, r.Opening(evening))
			for _, e := range s.entries {
				s.c.Recall(e)
			}
			s.c.Begin(s.now, s.state, s.enter)
		}
		s.until(end)
		passed, beats := 0, 0
		for _, e := range s.entries {
			if e.Event.Where == block.Passes {
				passed++
			}
			if e.Event.Do == block.Beat {
				beats++
			}
			require.NotEqual(t, block.Rung, e.Event.Do, "a company rings beats")
		}
		require.Equal(t, len(r.Timetable().Workings), passed, "broken off: %v", broken)
		require.Greater(t, beats, 200)
		for f, err := range review.Of(r, seq(s.entries)) {
			require.NoError(t, err)
			t.Errorf("broken off %v: %s at %s %s train %s: %s", broken, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}

// Two persons work the single line of the demo. Tolverbeck offers the branch train and gives its driver the token before he is
// ready; Ossenwaite has a train of the same code to send the other way. The driver goes when he is ready, with the token that
// was meant for him, and the key that a person keeps down stays down until he lets go.
func TestPersonsAtBothEndsOfASingleLine(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	s := &sitting{t: t, r: r, state: r.Opening(evening), now: evening}
	s.c = sim.NewCompany(r, sim.Options{Seed: 1, Begins: evening}, func(b block.BoxID) bool { return b != "OS" && b != "TO" }, s.state)
	does := func(e block.Event) {
		t.Helper()
		e.At = s.now
		out, state, ok := s.enter(e)
		require.True(t, ok)
		require.Equal(t, block.Done, out.Ending)
		s.c.Saw(e, out, state)
	}
	does(block.Event{Do: block.Duty, By: "OS"})
	does(block.Event{Do: block.Duty, By: "TO"})
	s.c.Begin(s.now, s.state, s.enter)
	var single block.Section
	for _, c := range r.Circuits() {
		if c.Boxes == [2]block.BoxID{"OS", "TO"} {
			single = c.Sections[0]
		}
	}
	rings := func(box block.BoxID, code block.Beats) {
		t.Helper()
		does(block.Event{Do: block.Rung, By: box, Circuit: single.Circuit, Beats: code})
		s.until(s.now.Add(5 * time.Second))
	}
	rings("TO", block.Beats{1})
	rings("OS", block.Beats{1})
	rings("TO", block.Beats{1, 3})
	does(block.Event{Do: block.Rung, By: "OS", Circuit: single.Circuit, Beats: block.Beats{1, 3}})
	does(block.Event{Do: block.Hold, By: "OS", Circuit: single.Circuit})
	s.until(s.now.Add(5 * time.Second))
	does(block.Event{Do: block.Token, By: "TO", Section: single.ID, Where: block.Drawn})
	does(block.Event{Do: block.Token, By: "TO", Section: single.ID, Where: block.Handed})
	s.until(evening.Add(6 * time.Minute)) // the train is booked away at 15.34
	var left []block.TrainID
	for _, e := range s.entries {
		if e.Event.Do == block.Train && e.Event.Where == block.Leaves && e.Event.Section == single.ID {
			left = append(left, e.Event.Train)
		}
		require.False(t, e.Event.Do == block.Hold && e.Event.Off, "nobody let go of the key")
	}
	require.Equal(t, []block.TrainID{"2"}, left)
}

// A13: the demo's day broken off at some moment and gone on with from the record alone is worked to its end, with its trolley
// and the tails that were still to go by; nothing is irregular. So it is in the middle of a code, which is rung to its end first.
func TestDemoBrokenOff(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	everybody := func(block.BoxID) bool { return true }
	for n, minutes := range []int{10, 24, 38, 45, 52, 59, 66, 73, 80, 94, 108, 115, 129, 143, 150, 164, 178, 192} {
		s := &sitting{t: t, r: r, state: r.Opening(evening), now: evening}
		s.c = sim.NewCompany(r, sim.Options{Seed: 3, Begins: evening}, everybody, s.state)
		s.c.Begin(s.now, s.state, s.enter)
		s.until(evening.Add(time.Duration(minutes) * time.Minute))
		if n%3 > 0 { // on until somebody has begun to ring
			for rings := false; !rings; _, rings = r.Due(s.state) {
				s.until(s.now.Add(100 * time.Millisecond))
			}
			s.c.RingOut(s.enter)
			s.now = s.state.At().Add(10 * time.Second)
			s.c = nil
			s.tick()
		}
		s.c = sim.NewCompany(r, sim.Options{Seed: 4, Begins: evening}, everybody, r.Opening(evening))
		for _, e := range s.entries {
			s.c.Recall(e)
		}
		s.c.Begin(s.now, s.state, s.enter)
		s.until(evening.Add(4*time.Hour + 15*time.Minute))
		came := make(map[block.TrainID]bool)
		for _, e := range s.entries {
			if k, ok := r.Timetable().Find(e.Event.Train); ok && e.Event.Where == block.Heads && e.Event.By == k.To {
				came[k.Train] = true
			}
		}
		require.Len(t, came, len(r.Timetable().Workings)-1, "broken off after %d minutes: all but the trolley", minutes)
		for f, err := range review.Of(r, seq(s.entries)) {
			require.NoError(t, err)
			t.Errorf("broken off after %d minutes: %s at %s %s train %s: %s", minutes, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}
