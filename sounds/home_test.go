package sounds_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

// The sounds of the apparatus are quiet: each at least 12 dB under every bell, and short, and without a click.
func TestNoisesAreQuietAndShort(t *testing.T) {
	for _, n := range sounds.Noises() {
		s := n.Sound(sounds.Rate)
		require.InDelta(t, n.Peak, dB(highestSample(s)), 0.01, n.Name)
		require.Less(t, sounds.Loudness(s), -24.5-12, n.Name)
		require.Less(t, len(s), sounds.Rate/4, n.Name)
		require.Zero(t, s[0], n.Name)
		require.Less(t, math.Abs(float64(s[len(s)-1])), 1e-6, n.Name)
		require.Less(t, steepest(s[len(s)-sounds.Rate/100:]), 0.001, n.Name)
		require.NotEmpty(t, n.Says)
		found, ok := sounds.FindNoise(n.Name)
		require.True(t, ok)
		require.Equal(t, n, found)
	}
	_, ok := sounds.FindNoise("dome")
	require.False(t, ok, "a bell is no noise")
}

// Story B2: one's own tap is heard at once. The clack is at its loudest within 10 ms of its first sample, so that
// nothing of the 50 ms between finger and ear is spent inside the sound.
func TestTheClackBeginsAtOnce(t *testing.T) {
	clack, _ := sounds.FindNoise("clack")
	s := clack.Sound(sounds.Rate)
	require.InDelta(t, highestSample(s), highestSample(s[:sounds.Rate/100]), 1e-9)
}

// The same of every bell (story B1): half its full height is reached within 10 ms.
func TestEveryStrokeBeginsAtOnce(t *testing.T) {
	for _, v := range sounds.Voices() {
		s := v.Stroke(sounds.Rate, 1)
		require.Greater(t, highestSample(s[:sounds.Rate/100]), highestSample(s)/2, v.Name)
	}
}

// A noise is never taken for a bell: no two of the five are alike, and none holds a tone that rings on.
func TestNoNoiseRings(t *testing.T) {
	for _, n := range sounds.Noises() {
		s := n.Sound(sounds.Rate)
		tail := s[len(s)-sounds.Rate/50:]
		require.Less(t, dB(highestSample(tail)), dB(highestSample(s))-20, n.Name)
	}
}
