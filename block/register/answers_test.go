package register_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block/register"
)

// F5: how long answers took at each box, measured on the golden day; the quartiles lie between
// the two answers that they ought to lie between, and nothing is measured below nothing.
func TestAnswerTimes(t *testing.T) {
	n, entries := played(t, goldenDay)
	all, err := register.TimesOf(n.Rules, register.InOrder(entries))
	require.NoError(t, err)
	require.Len(t, all, 3*len(n.Rules.Layout().Boxes))
	measured := 0
	for k, a := range all {
		require.Equal(t, n.Rules.Layout().Boxes[k/3].ID, a.Box, "boxes in line order, and in no other")
		var x []float64
		for _, d := range a.Took {
			require.GreaterOrEqual(t, d, time.Duration(0))
			x = append(x, d.Seconds())
		}
		if len(x) < 2 {
			continue
		}
		measured += len(x)
		slices.Sort(x)
		for p, got := range map[float64]time.Duration{0.25: a.Least(), 0.5: a.Median(), 0.75: a.Most()} {
			k := int(p * float64(len(x)-1))
			require.GreaterOrEqual(t, got.Seconds(), x[k]-0.001)
			require.LessOrEqual(t, got.Seconds(), x[min(k+1, len(x)-1)]+0.001)
		}
	}
	require.Greater(t, measured, 100)
}
