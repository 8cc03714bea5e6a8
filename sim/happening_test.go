package sim_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// dealt is the demo's day with every box simulated and something ordered at a time of it, and the same day without.
type dealt struct {
	*testing.T
	r         *block.Rules
	seed      uint64
	with, off []block.Entry
}

// at is a moment of the demo's day.
func at(hour, minute int) time.Time {
	return evening.Truncate(24 * time.Hour).Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute)
}

// deals works the day with an order and without, over several seeds, asks that nothing is irregular and that every train
// gets to its last box, and lets each be looked at.
func deals(t *testing.T, h block.Happening, when time.Time, looks func(d *dealt)) {
	t.Helper()
	header, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	r, err := header.Rules()
	require.NoError(t, err)
	order := h.Event()
	order.At = when
	for seed := range uint64(6) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			d := &dealt{T: t, r: r, seed: seed}
			d.off = work(t, r, sim.Options{Seed: seed, Begins: evening})
			d.with = work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{order}})
			for f, err := range review.Of(r, seq(d.with)) {
				require.NoError(t, err)
				t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
			for _, k := range r.Timetable().Workings {
				if len(k.Calls) > 0 {
					require.False(t, d.seen(d.with, k.Train, k.To, block.Heads).IsZero(), "train %s never came to %s", k.Train, k.To)
				}
			}
			looks(d)
		})
	}
}

// seen is when a train was first seen so at a box.
func (d *dealt) seen(all []block.Entry, train block.TrainID, box block.BoxID, where block.Place) time.Time {
	for _, e := range all {
		if e.Event.Do == block.Train && e.Event.Train == train && e.Event.By == box && e.Event.Where == where {
			return e.Event.At
		}
	}
	return time.Time{}
}

// later is by how much later a train came to a box than on the day without.
func (d *dealt) later(train block.TrainID, box block.BoxID) time.Duration {
	return d.seen(d.with, train, box, block.Heads).Sub(d.seen(d.off, train, box, block.Heads))
}

// rang is when a box rang a signal of its own, zero if it never did.
func (d *dealt) rang(all []block.Entry, box, to block.BoxID, key block.CodeKey) time.Time {
	for _, e := range all {
		for _, c := range e.Outcome.Changes {
			if s := c.Signal; s != nil && s.By == box && s.Key == key && s.Sense == block.Own && d.joins(s.Circuit, to) {
				return s.First
			}
		}
	}
	return time.Time{}
}

func (d *dealt) joins(id block.CircuitID, box block.BoxID) bool {
	for _, c := range d.r.Circuits() {
		if c.ID == id && (c.Boxes[0] == box || c.Boxes[1] == box) {
			return true
		}
	}
	return false
}

// stopped tells whether a box has stopped the driver of a train; of cautioned the same.
func (d *dealt) driver(box block.BoxID, train block.TrainID, where block.Place) bool {
	for _, e := range d.with {
		if e.Event.Do == block.Driver && e.Event.By == box && e.Event.Train == train && e.Event.Where == where {
			return true
		}
	}
	return false
}

// over is how long something ordered took from its coming to pass until it was over.
func (d *dealt) over(does block.Place) time.Duration {
	d.Helper()
	var from time.Time
	for _, e := range d.with {
		if e.Event.Do != block.Befalls || e.Event.Where != does {
			continue
		}
		if !e.Event.Off {
			from = e.Event.At
		} else {
			require.False(d, from.IsZero())
			return e.Event.At.Sub(from)
		}
	}
	d.Fatal("it never came to pass, or never ended")
	return 0
}

// D15, card C2, H2: UL sees smoke from train 11 and rings 7; OS stops and examines it, and no Up train is sent to UL until it
// is told that nothing is foul. Source: scenario/lathermoor section 7; absolute-block reference, section 7, R59.
func TestHotBoxDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.HotBox, At: "UL", Train: "11"}, at(16, 30), func(d *dealt) {
		require.True(d, d.rang(d.off, "UL", "OS", "stop-and-examine").IsZero())
		require.False(d, d.rang(d.with, "UL", "OS", "stop-and-examine").IsZero())
		require.True(d, d.driver("OS", "11", block.Stopped))
		require.GreaterOrEqual(d, d.later("11", "HX"), 3*time.Minute)
		require.Greater(d, d.over(block.HotBox), 6*time.Minute)
	})
}
