package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// BenchmarkStep works one train through the demo's busiest box again and again: goal 3 µs and 10 allocations an act.
func BenchmarkStep(b *testing.B) {
	r, err := block.Embedded("lathermoor")
	require.NoError(b, err)
	at := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	s := r.Opening(at)
	on := func(box block.BoxID) block.Event { return block.Event{Do: block.Duty, By: box} }
	ring := func(by block.BoxID, beats ...uint8) block.Event {
		return block.Event{Do: block.Rung, By: by, Circuit: "UL-OS", Beats: beats}
	}
	turn := func(show block.Aspect) block.Event {
		return block.Event{Do: block.Turn, By: "OS", Section: "UL-OS Down Main", Show: show}
	}
	seen := func(by block.BoxID, where block.Place, lamp block.Lamp) block.Event {
		return block.Event{Do: block.Train, By: by, Section: "UL-OS Down Main", Train: "4", Where: where, Lamp: lamp}
	}
	for _, e := range []block.Event{on("UL"), on("OS")} {
		e.At = at
		s, _, err = r.Step(s, e)
		require.NoError(b, err)
	}
	cycle := []block.Event{ring("UL", 1), ring("OS", 1), ring("UL", 4), ring("OS", 4), turn(block.Clear),
		seen("UL", block.Leaves, ""), ring("UL", 2), ring("OS", 2), turn(block.Occupied),
		seen("OS", block.Passes, block.LampSeen), ring("OS", 1), ring("UL", 1), ring("OS", 2, 1), ring("UL", 2, 1), turn(block.Blocked)}
	b.ReportAllocs()
	for n := 0; b.Loop(); n++ {
		e := cycle[n%len(cycle)]
		at = at.Add(4 * time.Second)
		e.At = at
		next, out, err := r.Step(s, e)
		if err != nil || len(out.Irregular) > 0 {
			b.Fatalf("%v: %v %v", e, err, out.Irregular)
		}
		s = next
	}
}
