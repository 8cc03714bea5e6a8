package sim_test

import (
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// The demo's whole day with every box simulated: branch, loop, closing boxes and all. Every train of the sequence, the
// trolley too, reaches the end of its run within four minutes of its time, as the scenario asks, and nothing is irregular, at
// many seeds (G1, G3). TAILLAMP_SEEDS says how many; the full run is 100.
func TestLathermoorDay(t *testing.T) {
	seeds := 10
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_SEEDS")); err == nil {
		seeds = n
	}
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	r, err := h.Rules()
	require.NoError(t, err)
	for seed := range uint64(seeds) {
		all := work(t, r, sim.Options{Seed: seed, Begins: evening})
		for _, k := range r.Timetable().Workings {
			if len(k.Calls) == 0 {
				trolleyWent(t, all, k, seed)
				continue
			}
			arrived := time.Time{}
			for _, e := range all {
				if e.Event.Do == block.Train && e.Event.Train == k.Train && e.Event.By == k.To && e.Event.Where == block.Heads {
					arrived = e.Event.At
				}
			}
			require.False(t, arrived.IsZero(), "seed %d: train %s never came to %s", seed, k.Train, k.To)
			last := k.Calls[len(k.Calls)-1]
			booked := evening.Truncate(24 * time.Hour).Add(time.Duration(last.Arrive) * time.Second)
			require.LessOrEqual(t, arrived.Sub(booked), 4*time.Minute, "seed %d: train %s at %s", seed, k.Train, k.To)
		}
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}

// C6: one person works Ossenwaite and Quarnaby with one pair of hands: while he rings in the one box nothing is done in the
// other. All trains of the demo run all the same, the latest of them five minutes late, and nothing is irregular.
func TestTwoBoxesInOneHand(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	hands := []block.BoxID{"OS", "QU"}
	for seed := range uint64(10) {
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, OneHand: hands})
		came := make(map[block.TrainID]bool)
		var busy time.Time
		for _, e := range all {
			k, ok := r.Timetable().Find(e.Event.Train)
			if ok && e.Event.Do == block.Train && e.Event.By == k.To && e.Event.Where == block.Heads {
				came[k.Train] = true
				booked := evening.Truncate(24 * time.Hour).Add(time.Duration(k.Calls[len(k.Calls)-1].Arrive) * time.Second)
				require.LessOrEqual(t, e.Event.At.Sub(booked), 5*time.Minute, "seed %d: train %s", seed, k.Train)
			}
			if e.Event.Do == block.Rung && slices.Contains(hands, e.Event.By) {
				require.False(t, e.Event.At.Before(busy), "seed %d: two hands at once at %s", seed, e.Event.At)
				busy = e.Event.At
				for range e.Event.Beats.Total() - 1 {
					busy = busy.Add(150 * time.Millisecond) // the quickest hand
				}
			}
		}
		require.Len(t, came, len(r.Timetable().Workings)-1, "seed %d: all but the trolley, which has no run", seed)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}

// trolleyWent asks that the engineer's trolley was out under a token drawn by 5-2 and that 2-5 was given when it was back;
// its token was out at some time of the half hour that the scenario gives it.
func trolleyWent(t *testing.T, all []block.Entry, k block.Working, seed uint64) {
	t.Helper()
	var out, in time.Time
	for _, e := range all {
		for _, c := range e.Outcome.Changes {
			if c.Signal != nil && c.Signal.Sense == block.Answer && c.Signal.By == "TO" && c.Signal.Key == "release-token" {
				out = c.Signal.First
			}
			if c.Signal != nil && c.Signal.Sense == block.Answer && c.Signal.By == "TO" && c.Signal.Key == "token-replaced" {
				in = c.Signal.First
			}
		}
	}
	require.False(t, out.IsZero() || in.IsZero(), "seed %d: train %s never went", seed, k.Train)
	day := evening.Truncate(24 * time.Hour)
	require.True(t, out.Before(day.Add(16*time.Hour+40*time.Minute)) && in.After(day.Add(16*time.Hour+20*time.Minute)),
		"seed %d: the token was out from %s to %s", seed, out.Format("15.04"), in.Format("15.04"))
}

// The same seed is the same day, act by act (G6).
func TestSameSeedSameDay(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	first, again := work(t, r, sim.Options{Seed: 9, Begins: evening}), work(t, r, sim.Options{Seed: 9, Begins: evening})
	require.Equal(t, len(first), len(again))
	for i := range first {
		require.Equal(t, first[i], again[i])
	}
}

// BenchmarkDay says how many district hours are worked in a second.
func BenchmarkDay(b *testing.B) {
	r, err := block.Embedded("lathermoor")
	require.NoError(b, err)
	var hours float64
	for b.Loop() {
		all := work(b, r, sim.Options{Seed: 1, Begins: evening})
		hours += all[len(all)-1].Event.At.Sub(evening).Hours()
	}
	b.ReportMetric(hours/b.Elapsed().Seconds(), "district-hours/s")
}
