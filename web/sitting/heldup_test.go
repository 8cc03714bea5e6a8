package sitting_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// nothingFound asks that the reviewer find nothing in the record so far.
func (s *stage) nothingFound() {
	s.t.Helper()
	for f, err := range review.Of(s.live.Rules(), s.live.Entries(s.t.Context())) {
		require.NoError(s.t, err)
		s.t.Errorf("%s at %s %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Says)
	}
}

// recorded is how many entries the record has.
func (s *stage) recorded() (n int) {
	s.t.Helper()
	for _, err := range s.live.Entries(s.t.Context()) {
		require.NoError(s.t, err)
		n++
	}
	return n
}

// G2: on a machine that is held up again and again for up to two seconds simulated signallers come late, and their codes
// are still read as they were meant: no 4 as 2 and 2.
func TestHeldUpMachineCutsNoCodeInTwo(t *testing.T) {
	for seed := range uint64(6) {
		s := newStage(t, sitting.NewMemory())
		require.NoError(t, s.live.Employ(t.Context(), seed, nil))
		chance, trains := rand.New(rand.NewPCG(seed, 7)), 0
		for end := s.clock.Now().Add(90 * time.Minute); s.clock.Now().Before(end); {
			s.clock.Move(time.Duration(100+chance.IntN(1900)) * time.Millisecond)
			s.settle()
		}
		for e, err := range s.live.Entries(t.Context()) {
			require.NoError(t, err)
			for _, c := range e.Outcome.Changes {
				if c.Signal != nil && c.Signal.Did == block.OutOf && c.Signal.Sense == block.Answer {
					trains++
				}
			}
		}
		require.Positive(t, trains, "no train went through, seed %d", seed)
		s.nothingFound()
	}
}

// A machine that was asleep for an hour does not make up for it all at once: trains and people go on from where they were.
func TestSleepingMachineMakesUpForNothing(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
	running := s.clock.Now().Add(20 * time.Second)
	s.passes(nil, time.Minute, func() bool { return s.clock.Now().After(running) })
	before := s.recorded()
	s.clock.Move(time.Hour)
	s.settle()
	require.Less(t, s.recorded()-before, 3, "one thing was due, and a code at its end")
	require.Equal(t, "LINE", s.lineOf(os).Standing, "the train is where it was")
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
	s.nothingFound()
}
