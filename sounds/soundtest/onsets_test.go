package soundtest_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/sounds/soundtest"
)

const rate = 48000

// knocks is a sound of short noises at known moments over a steady hiss; nothing of the program made it.
func knocks(long time.Duration, hiss float64, at ...time.Duration) []float32 {
	dice := rand.New(rand.NewPCG(3, 1))
	out := make([]float32, int(long.Seconds()*rate))
	for i := range out {
		out[i] = float32(hiss * dice.NormFloat64())
	}
	for _, t := range at {
		for i := range rate / 20 {
			if n := int(t.Seconds()*rate) + i; n < len(out) {
				out[n] += float32(0.3 * dice.NormFloat64() * math.Exp(-float64(i)/(0.015*rate)))
			}
		}
	}
	return out
}

func TestOnsetsAreFoundWhereTheyAre(t *testing.T) {
	var at []time.Duration
	for n := range 20 {
		at = append(at, 300*time.Millisecond+time.Duration(n)*187*time.Millisecond)
	}
	found := soundtest.Onsets(knocks(5*time.Second, 0.004, at...), rate)
	require.Len(t, found, 1+len(at))
	require.Zero(t, found[0], "the hiss begins")
	found = found[1:]
	for i := range at {
		require.InDelta(t, at[i].Seconds(), found[i].Seconds(), 0.004)
	}
}

func TestNothingIsHeardInSilenceHissOrASteadyTone(t *testing.T) {
	require.Empty(t, soundtest.Onsets(nil, rate))
	require.Empty(t, soundtest.Onsets(make([]float32, rate), rate))
	tone := make([]float32, 2*rate)
	for i := range tone {
		tone[i] = float32(0.3 * math.Sin(2*math.Pi*700*float64(i)/rate))
	}
	require.Len(t, soundtest.Onsets(tone, rate), 1, "a tone begins once")
	require.LessOrEqual(t, len(soundtest.Onsets(knocks(2*time.Second, 0.1), rate)), 1, "hiss begins once")
}

func TestGroupsEndAtAPause(t *testing.T) {
	ms := func(n ...int) []time.Duration {
		var at []time.Duration
		for _, m := range n {
			at = append(at, time.Duration(m)*time.Millisecond)
		}
		return at
	}
	require.Equal(t, []uint8{3, 1}, soundtest.Groups(ms(0, 200, 400, 900), 350*time.Millisecond))
	require.Equal(t, []uint8{1, 1}, soundtest.Groups(ms(0, 351), 350*time.Millisecond))
	require.Equal(t, []uint8{2}, soundtest.Groups(ms(0, 350), 350*time.Millisecond))
	require.Empty(t, soundtest.Groups(nil, time.Second))
}
