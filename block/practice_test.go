package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// G8: a code rung for practice is read as in working, and its tempo and pause are told apart.
func TestReadPractice(t *testing.T) {
	presses := func(ms ...int) []time.Time {
		var at []time.Time
		for _, m := range ms {
			at = append(at, time.UnixMilli(1_000_000+int64(m)))
		}
		return at
	}
	p := block.ReadPractice(presses(0, 300, 600, 1350), nil)
	require.Equal(t, "3-1", p.Beats.String())
	require.Equal(t, 300*time.Millisecond, p.Beat)
	require.Equal(t, 750*time.Millisecond, p.Pause)
	require.False(t, p.Uneven)

	p = block.ReadPractice(presses(0, 200, 600, 800), nil)
	require.True(t, p.Uneven || p.Pause > 0, "%v", p)
	p = block.ReadPractice(presses(0), nil)
	require.Equal(t, "1", p.Beats.String())
	require.Zero(t, p.Beat)
	require.Empty(t, block.ReadPractice(nil, nil).Beats)
	require.Empty(t, block.ReadPractice(make([]time.Time, 21), nil).Beats)
}
