package sounds

import (
	"math"
	"math/rand/v2"
	"time"
)

const (
	attack     = 0.001 // seconds over which a stroke swells, so that it begins without a click
	strikeLong = 0.030 // seconds of hammer noise
	strikeFall = 0.004 // seconds in which that noise falls to 1/e
	fade       = 0.040 // seconds over which the end is drawn to nothing
	longest    = 2.5   // seconds; no stroke is longer
	silent     = 50.0  // dB under a partial of gain 1 at which a partial is let go
	edge       = 1500  // hertz; above it a harder blow makes a brighter sound
	fullBody   = 3.0   // exponent of ten in a fall of 60 dB
)

// Stroke is one stroke of the bell at the given sampling rate. Force goes from 0 to 1; a key gives 1, and
// Force tells how a hand varies. A harder blow is louder and brighter. The samples lie between −1 and 1, begin
// and end at exactly nothing, and are the same every time.
func (v Voice) Stroke(rate int, force float64) []float32 {
	force = min(max(force, 0), 1)
	sum := v.raw(rate, force)
	out := make([]float32, len(sum))
	for i, x := range sum {
		out[i] = float32(float64(x * v.gain))
	}
	return out
}

// Long is how long one stroke sounds.
func (v Voice) Long() time.Duration {
	return time.Duration(v.seconds() * float64(time.Second))
}

func (v Voice) seconds() float64 {
	long := strikeLong + fade
	for _, p := range v.Partials {
		long = max(long, p.T60*(silent+20*math.Log10(p.Gain))/60)
	}
	return min(long, longest)
}

// raw is the stroke before its gain.
func (v Voice) raw(rate int, force float64) []float64 {
	fs := float64(rate)
	sum := make([]float64, int(math.Ceil(fs*v.seconds())))
	for _, p := range v.Partials {
		f := v.Base * p.Ratio
		if f > 0.45*fs {
			continue
		}
		addPartial(sum, f/fs, p.Gain*blow(f, force), p.T60*fs)
	}
	addStrike(sum, fs, v.Strike, force)
	swell(sum, int(math.Ceil(fs*attack)))
	fadeOut(sum, int(math.Ceil(fs*fade)))
	return sum
}

// blow is what a blow of the given force leaves of a partial.
func blow(hz, force float64) float64 {
	if hz > edge {
		return force
	}
	return math.Sqrt(force)
}

// addPartial adds a dying tone: cycles is its pitch in turns a sample, t60 the samples in which it falls by
// 60 dB. It turns a pointer rather than asking for a sine each time, which is ten times as fast. Each product
// is converted on its own, which forbids fusing it with the sum that follows, so that the samples do not
// depend on the processor.
func addPartial(sum []float64, cycles, gain, t60 float64) {
	shrink := math.Pow(10, -fullBody/t60)
	sin, cos := math.Sincos(2 * math.Pi * cycles)
	sin, cos = sin*shrink, cos*shrink
	x, y := gain, 0.0
	for i := range sum {
		sum[i] += y
		x, y = float64(x*cos)-float64(y*sin), float64(x*sin)+float64(y*cos)
	}
}

// addStrike adds the hammer's noise: white, dying, through the band-pass of constant peak gain of the Audio EQ
// Cookbook (W3C Working Group Note, 8 June 2021) with Q = 1. The noise is the same in every stroke.
func addStrike(sum []float64, fs float64, s Strike, force float64) {
	sin, cos := math.Sincos(2 * math.Pi * s.Centre / fs)
	alpha := sin / 2
	b0, a0, a1, a2 := alpha, 1+alpha, -2*cos, 1-alpha
	noise := rand.New(rand.NewPCG(1, 2))
	shrink := math.Pow(math.E, -1/(strikeFall*fs)) // math.Exp is not the same to the last bit on every processor
	loud := s.Gain * force
	n := min(len(sum), int(fs*strikeLong))
	var x1, x2, y1, y2 float64
	for i := range n {
		x := float64((2*noise.Float64() - 1) * loud)
		y := (float64(b0*x) - float64(b0*x2) - float64(a1*y1) - float64(a2*y2)) / a0
		x1, x2, y1, y2 = x, x1, y, y1
		sum[i] += y
		loud = float64(loud * shrink)
	}
}

// swell and fadeOut bend the beginning and the end to nothing along half a cosine.
func swell(sum []float64, n int) {
	for i := range min(n, len(sum)) {
		sum[i] *= halfCosine(i, n)
	}
}

func fadeOut(sum []float64, n int) {
	for i := range min(n, len(sum)) {
		sum[len(sum)-1-i] *= halfCosine(i, n)
	}
}

func halfCosine(i, n int) float64 { return (1 - math.Cos(math.Pi*float64(i)/float64(n))) / 2 }

// Force is how hard a hand strikes its nth beat: between 0.8 and 1, never twice the same and always the same
// for the same n. The page in the browser computes the same numbers, so it uses whole numbers of 32 bits only.
func Force(n uint32) float64 {
	// A one-to-one scattering of all 32-bit numbers, so that no two beats of a sitting are alike.
	n ^= n >> 16
	n *= 0x7feb352d
	n ^= n >> 15
	n *= 0x846ca68b
	n ^= n >> 16
	return 0.8 + 0.2*float64(n)/(1<<32)
}
