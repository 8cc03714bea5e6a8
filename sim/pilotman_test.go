package sim_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// D14, D15, card C4 of the demo: from 17.00 the token instruments of the branch give no release. The signallers find it
// out by an offer, have a pilotman's form signed at both ends before the first train, and every train goes with him;
// when the lineman has been, tokens are drawn again. Nothing is irregular, at many seeds.
func TestTokenInstrumentsFail(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	var branch block.Section
	for _, c := range r.Circuits() {
		for _, s := range c.Sections {
			if s.Way == "both" && s.Rear == "OS" && s.Advance == "TO" {
				branch = s
			}
		}
	}
	at := func(hour, minute int) time.Time {
		return evening.Truncate(24 * time.Hour).Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute)
	}
	fails := block.Event{Do: block.Fault, Circuit: branch.Circuit, Section: branch.ID, Where: block.AtNeedle, At: at(17, 0)}
	mended := fails
	mended.Off, mended.At = true, at(18, 30)
	for seed := range uint64(10) {
		forms, rode, drew := 0, 0, 0
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{fails, mended}})
		for _, e := range all {
			switch {
			case e.Event.Do == block.Pilot && e.Event.Where == block.Form && !e.Event.Off:
				forms++
				require.Zero(t, rode, "seed %d: a train went before both forms", seed)
			case e.Event.Do == block.Pilot && e.Event.Where == block.Rides:
				rode++
				require.Equal(t, 2, forms, "seed %d", seed)
			case e.Event.Do == block.Token && e.Event.Where == block.Drawn && e.Event.At.After(fails.At) && e.Outcome.Ending == block.Done:
				require.True(t, e.Event.At.After(mended.At), "seed %d: a token was drawn while the instruments had failed", seed)
				drew++
			}
		}
		require.Equal(t, 2, forms, "seed %d", seed)
		require.Positive(t, rode, "seed %d", seed)
		require.Positive(t, drew, "seed %d", seed)
		t.Logf("seed %d: %d trains with the pilotman, %d tokens drawn after", seed, rode, drew)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
}
