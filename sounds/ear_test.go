package sounds_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"taillamp/sounds"
)

// The ear of these tests: it measures samples and knows nothing of how they were made.

const bins = 1 << 16 // of a transform; 0.73 Hz apart at 48 kHz

// spectrum is the amplitude of each bin from 0 Hz up, of the sound followed by silence. A long sound is cut.
func spectrum(samples []float32) []float64 {
	wide := make([]float64, bins)
	for i, x := range samples[:min(len(samples), bins)] {
		wide[i] = float64(x)
	}
	turned := fourier.NewFFT(bins).Coefficients(nil, wide)
	out := make([]float64, len(turned))
	for i, c := range turned {
		out[i] = cmplx.Abs(c)
	}
	return out
}

func hertz(bin float64) float64 { return bin * sounds.Rate / bins }

// crest finds the highest bin between two pitches, and its pitch between the bins by the parabola through its
// neighbours. It is no crest if it stands at either end: then the true one lies elsewhere.
func crest(spec []float64, from, to float64) (hz float64, ok bool) {
	low, high := int(from/hertz(1)), int(math.Ceil(to/hertz(1)))
	at := low
	for i := low; i <= high; i++ {
		if spec[i] > spec[at] {
			at = i
		}
	}
	if at == low || at == high {
		return 0, false
	}
	a, b, c := spec[at-1], spec[at], spec[at+1]
	return hertz(float64(at) + (a-c)/(2*(a-2*b+c))), true
}

// tone is the amplitude of one pitch in a frame of sound: Goertzel's algorithm under a Hann window.
func tone(frame []float32, hz float64) float64 {
	c := 2 * math.Cos(2*math.Pi*hz/sounds.Rate)
	var s1, s2, weight float64
	for i, x := range frame {
		h := (1 - math.Cos(2*math.Pi*float64(i)/float64(len(frame)))) / 2
		weight += h
		s1, s2 = float64(x)*h+c*s1-s2, s1
	}
	return 2 * math.Sqrt(s1*s1+s2*s2-c*s1*s2) / weight
}

// fall measures how long a pitch takes to fall by 60 dB: the straight line through its level in frames of 60 ms,
// each 10 ms later, that begin between the two moments (seconds).
func fall(samples []float32, hz, from, to float64) float64 {
	const frame, step = sounds.Rate * 60 / 1000, sounds.Rate * 10 / 1000
	var n, st, sl, stt, stl float64
	for at := int(from * sounds.Rate); at <= int(to*sounds.Rate) && at+frame <= len(samples); at += step {
		t, l := float64(at)/sounds.Rate, 20*math.Log10(tone(samples[at:at+frame], hz))
		n, st, sl, stt, stl = n+1, st+t, sl+l, stt+t*t, stl+t*l
	}
	return -60 * (n*stt - st*st) / (n*stl - st*sl)
}

func highestSample(samples []float32) float64 {
	var top float64
	for _, x := range samples {
		top = max(top, math.Abs(float64(x)))
	}
	return top
}

func dB(x float64) float64 { return 20 * math.Log10(x) }

// everyVoice is every plain voice and every sister that can be asked for by name.
func everyVoice(t testing.TB) []sounds.Voice {
	t.Helper()
	all := sounds.Voices()
	for _, v := range slices.Clone(all) {
		for _, move := range []string{"+4", "-4", "+6", "-6"} {
			if sister, ok := sounds.FindVoice(v.Name + move); ok {
				all = append(all, sister)
			}
		}
	}
	if len(all) < 20 {
		t.Fatalf("only %d voices found", len(all))
	}
	return all
}
