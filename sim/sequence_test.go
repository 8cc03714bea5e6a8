package sim_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// A16: trains that the owner adds and moves run as they then stand, the one that he withdraws does not, and nobody breaks
// a rule by it.
func TestTrainsRunAsTheOwnerHasThem(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	begins := time.Date(1960, 7, 9, 15, 30, 0, 0, time.UTC)
	moved := func(e block.Event) block.Event {
		e.At = begins.Add(2 * time.Minute)
		return e
	}
	at := func(h, m int) block.Slot { return block.Slot{At: h*3600 + m*60} }
	for seed := range uint64(3) {
		all := work(t, r, sim.Options{Seed: seed, Begins: begins, Events: []block.Event{
			moved(block.Withdraw("6")), moved(block.AddTrain("31", "1", at(16, 40))), moved(block.MoveTrain("4", at(16, 30)))}})
		left := map[block.TrainID]time.Time{}
		for _, e := range all {
			if e.Event.Do == block.Train && e.Event.Where == block.Leaves && left[e.Event.Train].IsZero() {
				left[e.Event.Train] = e.Event.At
			}
		}
		require.NotContains(t, left, block.TrainID("6"), "seed %d", seed)
		for train, after := range map[block.TrainID]time.Duration{"31": 70 * time.Minute, "4": 60 * time.Minute} {
			late := left[train].Sub(begins.Add(after))
			require.GreaterOrEqual(t, late, time.Duration(0), "seed %d: train %s does not go before its new time", seed, train)
			require.Less(t, late, 30*time.Minute, "seed %d: train %s goes, if it may have to wait for the line", seed, train)
		}
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}
