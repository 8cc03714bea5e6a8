package register_test

import (
	"iter"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// BenchmarkReplay steps the golden day again, out of memory and out of its file, checked and understood line by line.
// Goals: 300,000 entries in a second, and 100,000 from the file.
func BenchmarkReplay(b *testing.B) {
	n, entries := played(b, goldenDay)
	again := func(b *testing.B, of iter.Seq2[block.Entry, error]) {
		_, err := register.Replay(n.Rules, n.Begins, of)
		require.NoError(b, err)
	}
	perSecond := func(b *testing.B) {
		b.ReportMetric(float64(b.N*len(entries))/b.Elapsed().Seconds(), "entries/s")
	}
	b.Run("memory", func(b *testing.B) {
		for b.Loop() {
			again(b, register.InOrder(entries))
		}
		perSecond(b)
	})
	b.Run("file", func(b *testing.B) {
		for i := range entries {
			entries[i].Seq = uint64(i + 1)
		}
		text, _ := lines(b, aHeader(), entries)
		path := filepath.Join(b.TempDir(), "day.jsonl")
		require.NoError(b, os.WriteFile(path, text, 0o600))
		for b.Loop() {
			f, err := os.Open(path)
			require.NoError(b, err)
			in, err := register.NewReader(f)
			require.NoError(b, err)
			again(b, in.Entries())
			require.NoError(b, f.Close())
		}
		perSecond(b)
		b.ReportMetric(float64(len(text))/float64(len(entries)), "bytes/entry")
	})
}
