package sitting_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// BenchmarkAppend writes entries to a file, each batch with a sync of its own: alone, as a fact of a quiet evening is
// written, and by the dozens, as what waits for the disk goes there together.
func BenchmarkAppend(b *testing.B) {
	for _, batch := range []int{1, 8, 64} {
		b.Run(fmt.Sprintf("by-%d", batch), func(b *testing.B) {
			files, err := sitting.NewFiles(b.TempDir())
			require.NoError(b, err)
			header, err := block.EmbeddedHeader("tiny")
			require.NoError(b, err)
			record, err := files.Begin(b.Context(), "evening", header)
			require.NoError(b, err)
			seq := uint64(0)
			entries := make([]block.Entry, batch)
			at := time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
			for b.Loop() {
				for i := range entries {
					seq++
					entries[i] = block.Entry{Seq: seq, Event: block.Event{Do: block.Beat, By: ul, Circuit: bell, At: at, Pressed: at},
						Outcome: block.Outcome{Ending: block.Done, Rings: []block.Ring{{Circuit: bell, To: os, Pressed: at}}}}
				}
				require.NoError(b, record.Append(b.Context(), entries...))
			}
			b.ReportMetric(float64(seq)/b.Elapsed().Seconds(), "entries/s")
			require.NoError(b, record.Close())
		})
	}
}
