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

// A16: a trolley that the owner adds in mid-evening goes out on the single line as the booked one does, after it, and comes
// back; the simulated day of the demo is otherwise worked as ever.
func TestTrolleyThatIsAddedRuns(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	begins := time.Date(1960, 7, 9, 15, 30, 0, 0, time.UTC)
	events := []block.Event{block.AddTrain("40", "10", block.Slot{Behind: "10"}), block.Withdraw("16"), block.Withdraw("14")} // which make room
	for i := range events {
		events[i].At = begins.Add(5 * time.Minute)
	}
	for seed := range uint64(3) {
		drawn, put := 0, 0
		all := work(t, r, sim.Options{Seed: seed, Begins: begins, Events: events})
		for _, e := range all {
			for _, c := range e.Outcome.Changes {
				if c.Signal == nil || c.Signal.Sense != block.Answer {
					continue
				}
				switch c.Signal.Key {
				case "release-token":
					drawn++
				case "token-replaced":
					put++
				}
			}
		}
		require.Equal(t, []int{2, 2}, []int{drawn, put}, "seed %d: two trolleys out, two home", seed)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Says)
		}
	}
}

// A16: a box that is switched out opens for a train that the owner adds, and closes by what then is the last; a closing
// that a withdrawn train put off comes the sooner.
func TestBoxesOpenForTheSequenceAsItStands(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	begins := time.Date(1960, 7, 9, 15, 30, 0, 0, time.UTC)
	turned := func(box block.BoxID, events ...block.Event) (in, out []string, all []block.Entry) {
		for i := range events {
			if events[i].At.IsZero() {
				events[i].At = begins.Add(2 * time.Minute)
			}
		}
		all = work(t, r, sim.Options{Begins: begins, Events: events})
		for _, e := range all {
			if e.Event.Do == block.Switch && e.Event.By == box && e.Outcome.Ending == block.Done {
				if e.Event.Off {
					out = append(out, e.Event.At.Format("15.04"))
				} else {
					in = append(in, e.Event.At.Format("15.04"))
				}
			}
		}
		return in, out, all
	}
	clean := func(all []block.Entry) {
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
	in, out, _ := turned("QU")
	require.Equal(t, 1, len(in))
	require.Equal(t, 1, len(out))
	// Train 7 is the one that is shunted at Quarnaby; another as late as the last makes it close later.
	laterIn, laterOut, all := turned("QU", block.AddTrain("31", "4", block.Slot{At: 18*3600 + 30*60}))
	require.Equal(t, in, laterIn)
	require.Equal(t, 1, len(laterOut))
	require.Greater(t, laterOut[0], out[0])
	clean(all)

	// Train 7 is the first that calls there. Without it and with 4 later the box opens later.
	in, _, all = turned("QU", block.MoveTrain("4", block.Slot{At: 16*3600 + 20*60}))
	require.Len(t, in, 1)
	clean(all)
	// It has closed, and opens again for a train that was not thought of before.
	again := block.AddTrain("31", "12", block.Slot{At: 19*3600 + 25*60}) // from the junction to Ullathwick, and no yard
	again.At = begins.Add(3*time.Hour + 10*time.Minute)
	in, _, all = turned("UL", again)
	require.Len(t, in, 1, "it was open in the beginning")
	require.GreaterOrEqual(t, in[0], "19.12")
	require.Less(t, in[0], "19.25", "a train is in the long section until 19.19: then")
	clean(all)
}
