package sounds_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

// Every partial of every voice is where its table says, within 1 %, found by a Fourier transform of gonum.
func TestPartialsStandWhereTheTableSays(t *testing.T) {
	for _, v := range everyVoice(t) {
		spec := spectrum(v.Stroke(sounds.Rate, 1))
		for _, p := range v.Partials {
			want := v.Base * p.Ratio
			got, ok := crest(spec, want*0.978, want*1.022)
			if !ok || math.Abs(got/want-1) > 0.01 {
				t.Errorf("%s: partial of %.1f Hz is found at %.1f Hz (a crest: %v)", v.Name, want, got, ok)
			}
		}
	}
}

// Every partial dies as fast as its table says, within 10 %. Left out are partials nearer than 35 Hz to another:
// they beat against one another and have no straight decay.
func TestPartialsDieAsTheTableSays(t *testing.T) {
	measured := 0
	for _, v := range everyVoice(t) {
		samples := v.Stroke(sounds.Rate, 1)
		for i, p := range v.Partials {
			hz := v.Base * p.Ratio
			if nearest(v, i) < 35 {
				continue
			}
			measured++
			got := fall(samples, hz, 0.020, max(0.45*p.T60, 0.060))
			if math.Abs(got/p.T60-1) > 0.10 {
				t.Errorf("%s: partial of %.1f Hz falls by 60 dB in %.3f s, not %.3f", v.Name, hz, got, p.T60)
			}
		}
	}
	require.Greater(t, measured, 100, "partials measured")
}

func nearest(v sounds.Voice, i int) float64 {
	gap := math.Inf(1)
	for j, q := range v.Partials {
		if j != i {
			gap = min(gap, v.Base*math.Abs(q.Ratio-v.Partials[i].Ratio))
		}
	}
	return gap
}

// The bar free at both ends: its pitches stand as the squares of the roots of cos x · cosh x = 1 (Euler and
// Bernoulli's beam, as in the Wikipedia article "Euler–Bernoulli beam theory"), here found by halving.
func TestBarRingsAsABarFreeAtBothEnds(t *testing.T) {
	v, _ := sounds.FindVoice("bar")
	first := root(1, 4, 5.5)
	for i, at := range []float64{4, 7, 10} {
		x := root(1, at, at+1.5)
		require.InDelta(t, x*x/(first*first), v.Partials[i].Ratio, 1e-6)
	}
}

// The bar held at one end: cos x · cosh x = −1, from the same.
func TestTongueRingsAsABarHeldAtOneEnd(t *testing.T) {
	v, _ := sounds.FindVoice("tongue")
	first := root(-1, 1, 3)
	for i, at := range []float64{1, 4} {
		x := root(-1, at, at+2)
		require.InDelta(t, x*x/(first*first), v.Partials[i].Ratio, 1e-6)
	}
}

// root finds where cos x · cosh x = is, between two bounds on either side of it.
func root(is, low, high float64) float64 {
	f := func(x float64) float64 { return math.Cos(x)*math.Cosh(x) - is }
	for range 80 {
		middle := (low + high) / 2
		if (f(middle) > 0) == (f(low) > 0) {
			low = middle
			continue
		}
		high = middle
	}
	return (low + high) / 2
}

// The tube bell: modes 4, 5 and 6 stand as 81 : 121 : 169, and the note heard is an octave below mode 4
// (HyperPhysics, "Tubular Bells"). Those three are its strongest.
func TestTubeRingsAsATubularBell(t *testing.T) {
	v, _ := sounds.FindVoice("tube")
	strong := v.Strongest(3)
	require.InDelta(t, 121.0/81, strong[1].Ratio/strong[0].Ratio, 1e-6)
	require.InDelta(t, 169.0/81, strong[2].Ratio/strong[0].Ratio, 1e-6)
	require.InDelta(t, v.Heard, v.Base*strong[0].Ratio/2, 0.01)
}

// The church bell: hum, prime, tierce, quint, nominal at 1/2, 1, 6/5, 3/2 and 2 (names and intervals:
// hibberts.co.uk, "The musical sound quality of church bells"; the tierce as a just minor third from memory), and
// for a bell so small the note heard is an octave below the nominal (the same).
func TestDomeRingsAsAChurchBell(t *testing.T) {
	v, _ := sounds.FindVoice("dome")
	for i, want := range []float64{1. / 2, 1, 6. / 5, 3. / 2, 2} {
		require.InDelta(t, want, v.Partials[i].Ratio, 1e-9)
	}
	require.InDelta(t, v.Heard, v.Base*v.Strongest(1)[0].Ratio/2, 0.01)
}

// A harder blow is louder, and brighter: what lies above 1.5 kHz gains more than what lies below.
func TestAHarderBlowIsLouderAndBrighter(t *testing.T) {
	for _, v := range sounds.Voices() {
		soft, hard := spectrum(v.Stroke(sounds.Rate, 0.5)), spectrum(v.Stroke(sounds.Rate, 1))
		low, high := energy(hard, 100, 1400)/energy(soft, 100, 1400), energy(hard, 2500, 12000)/energy(soft, 2500, 12000)
		require.Greater(t, low, 1.5, v.Name)
		require.Greater(t, high, 1.3*low, v.Name)
	}
}

func energy(spec []float64, from, to float64) float64 {
	var sum float64
	for i := int(from / hertz(1)); i < int(to/hertz(1)); i++ {
		sum += spec[i] * spec[i]
	}
	return sum
}
