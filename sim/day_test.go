package sim_test

import (
	"iter"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

var evening = time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)

func work(t testing.TB, r *block.Rules, o sim.Options) []block.Entry {
	t.Helper()
	var all []block.Entry
	for e, err := range sim.Day(r, o) {
		require.NoError(t, err)
		all = append(all, e)
	}
	return all
}

func seq(all []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range all {
			if !yield(e, nil) {
				return
			}
		}
	}
}

func TestTinyDay(t *testing.T) {
	r, err := block.Embedded("tiny")
	require.NoError(t, err)
	for seed := range uint64(200) {
		all := work(t, r, sim.Options{Seed: seed, Begins: evening})
		passed := 0
		for _, e := range all {
			if e.Event.Where == block.Passes {
				passed++
			}
		}
		require.Equal(t, len(r.Timetable().Workings), passed, "seed %d", seed)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}
