package sounds_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/sounds"
)

// Recommendation ITU-R BS.1770: a 997 Hz sine at 0 dBFS in one channel reads −3.01 LKFS.
func TestLoudnessReadsThePublishedSine(t *testing.T) {
	sine := make([]float32, sounds.Rate)
	for i := range sine {
		sine[i] = float32(math.Sin(2 * math.Pi * 997 * float64(i) / sounds.Rate))
	}
	require.InDelta(t, -3.01, sounds.Loudness(sine), 0.02)
	for i := range sine {
		sine[i] /= 10
	}
	require.InDelta(t, -23.01, sounds.Loudness(sine), 0.02, "a tenth of it is 20 dB less")
}

func TestNoStrokePassesMinus6(t *testing.T) {
	for _, v := range everyVoice(t) {
		for _, force := range []float64{0, 0.3, 0.8, 1, 7} {
			top := highestSample(v.Stroke(sounds.Rate, force))
			require.LessOrEqual(t, dB(top), -6.0, "%s struck with %g", v.Name, force)
			require.Equal(t, force > 0, top > 0, "%s struck with %g", v.Name, force)
		}
	}
}

// No neighbour shouts another down: the plain voices within a tenth of a decibel, the sisters within half of one.
func TestVoicesAreEquallyLoud(t *testing.T) {
	low, high := math.Inf(1), math.Inf(-1)
	for i, v := range everyVoice(t) {
		l := sounds.Loudness(v.Stroke(sounds.Rate, 1))
		spread := 0.5
		if i < len(sounds.Voices()) {
			spread = 0.1
			low, high = min(low, l), max(high, l)
		}
		require.InDelta(t, -24.5, l, spread, v.Name)
	}
	fmt.Printf("loudness of the voices: %.2f to %.2f LKFS\n", low, high)
}

// Neither end clicks: the first and last samples are nothing, the first step is small beside the stroke, and the
// last 20 ms hold no step of 0.001 or more.
func TestNoStrokeClicksAtItsEnds(t *testing.T) {
	for _, v := range everyVoice(t) {
		for name, w := range map[string]sounds.Voice{v.Name: v, v.Name + " by night": v.Night()} {
			s := w.Stroke(sounds.Rate, 1)
			require.Zero(t, s[0], name)
			require.Less(t, math.Abs(float64(s[len(s)-1])), 1e-6, name)
			require.Less(t, math.Abs(float64(s[1])), 0.005, name)
			require.Less(t, steepest(s[len(s)-sounds.Rate/50:]), 0.001, name)
			require.Less(t, len(s), 5*sounds.Rate/2, name)
		}
	}
}

func steepest(s []float32) float64 {
	var top float64
	for i := 1; i < len(s); i++ {
		top = max(top, math.Abs(float64(s[i]-s[i-1])))
	}
	return top
}

// By night a bell is quieter by at least 15 dB and stops sooner, and is still the same bell.
func TestNightIsQuietAndShort(t *testing.T) {
	for _, v := range sounds.Voices() {
		day, night := v.Stroke(sounds.Rate, 1), v.Night().Stroke(sounds.Rate, 1)
		require.Less(t, sounds.Loudness(night), sounds.Loudness(day)-15, v.Name)
		require.Less(t, len(night), 2*len(day)/3, v.Name)
		loudest := v.Base * v.Strongest(1)[0].Ratio
		got, ok := crest(spectrum(night), loudest*0.97, loudest*1.03)
		require.True(t, ok, v.Name)
		require.InEpsilon(t, loudest, got, 0.01, v.Name)
	}
}

// Whatever rings at once, and however often, the mix stays under −1 dBFS and never wraps round: every sample has
// the sign of the true sum and is no greater.
func TestNoMixPassesMinus1(t *testing.T) {
	var bells [][]float32
	for _, v := range everyVoice(t) {
		bells = append(bells, v.Stroke(sounds.Rate, 1))
	}
	rapid.Check(t, func(t *rapid.T) {
		dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		n := rapid.IntRange(1, 300).Draw(t, "strokes")
		within := rapid.Int64Range(1, sounds.Rate/2).Draw(t, "within")
		var m sounds.Mixer
		sum := make([]float64, 2*sounds.Rate/3)
		for range n {
			at, bell := dice.Int64N(within), bells[dice.IntN(len(bells))]
			m.Strike(at, bell)
			// The 257th stroke silences the first: from there on the sum is not to be foretold.
			for i := range bell[:min(int64(len(bell)), int64(len(sum))-at)] {
				sum[int(at)+i] += float64(bell[i])
			}
		}
		for i, x := range read(&m, len(sum)) {
			if dB(math.Abs(x)) > -1 {
				t.Fatalf("a sample of %.3f dBFS", dB(math.Abs(x)))
			}
			if n <= 256 && (x*sum[i] < -1e-3 || math.Abs(x) > math.Abs(sum[i])+1e-4) {
				t.Fatalf("sample %d of a sum of %.3f came out as %.3f", i, sum[i], x)
			}
		}
	})
}

// Two bells at one instant are heard as they are: below the knee nothing is bent.
func TestTwoBellsAtOnceAreTheirSum(t *testing.T) {
	var m sounds.Mixer
	sum := make([]float64, sounds.Rate/2)
	for _, v := range sounds.Voices()[:2] {
		s := v.Stroke(sounds.Rate, 1)
		m.Strike(0, s)
		for i := range min(len(s), len(sum)) {
			sum[i] += 0.7 * float64(s[i])
		}
	}
	for i, x := range read(&m, len(sum)) {
		require.InDelta(t, sum[i], x, 2.0/32768, "sample %d", i)
	}
}

// read takes n samples, −1 to 1.
func read(m *sounds.Mixer, n int) []float64 {
	p := make([]byte, 2*n)
	m.Read(p)
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(int16(binary.LittleEndian.Uint16(p[2*i:]))) / 32767
	}
	return out
}
