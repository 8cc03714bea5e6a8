// Package soundtest listens: it finds the strokes in a recording, knowing nothing of how the sound was made.
// Tests use it on rendered codes, on what a browser played and on what came out of a loudspeaker.
package soundtest

import (
	"math"
	"time"
)

const (
	hop     = 0.002 // seconds from one look at the sound to the next
	before  = 0.030 // seconds of sound that a stroke must rise out of
	after   = 0.012 // seconds of sound that make the rise
	rise    = 4.0   // dB by which a stroke stands out of what rings already
	floor   = -50.0 // dB under the loudest moment below which nothing is a stroke
	nearest = 0.080 // seconds; two strokes are never nearer, a hand cannot do it
)

// Onsets gives the moments at which strokes begin in a sound of one channel. The method is energy flux: the
// sound's steepness (first difference) is squared, which favours the hammer over the ringing, and a stroke is
// where the energy of the next 12 ms stands 4 dB or more over that of the 30 ms before and is the highest rise
// within 80 ms.
func Onsets(samples []float32, rate int) []time.Duration {
	flux := rises(samples, rate)
	apart := int(nearest / hop)
	var found []time.Duration
	last := -apart
	for i, r := range flux {
		if r < rise || i-last < apart || !highest(flux, i, apart) {
			continue
		}
		last = i
		found = append(found, time.Duration(float64(i)*hop*float64(time.Second)))
	}
	return found
}

// rises gives, each two milliseconds, by how many decibels the sound rises there; 0 where it is too quiet.
func rises(samples []float32, rate int) []float64 {
	total := make([]float64, len(samples)+1)
	for i, x := range samples {
		d := float64(x)
		if i > 0 {
			d -= float64(samples[i-1])
		}
		total[i+1] = total[i] + d*d
	}
	mean := func(from, to float64) float64 {
		a := min(max(int(from*float64(rate)), 0), len(samples))
		b := min(max(int(to*float64(rate)), a), len(samples))
		return (total[b] - total[a]) / ((to - from) * float64(rate))
	}
	steps := int(float64(len(samples)) / float64(rate) / hop)
	loudest := 0.0
	for i := range steps {
		loudest = max(loudest, mean(float64(i)*hop, float64(i)*hop+after))
	}
	quiet := loudest * math.Pow(10, floor/10)
	flux := make([]float64, steps)
	for i := range steps {
		at := float64(i) * hop
		now := mean(at, at+after)
		if now > quiet {
			flux[i] = 10 * math.Log10(now/max(mean(at-before, at), quiet/10))
		}
	}
	return flux
}

func highest(flux []float64, i, within int) bool {
	for j := max(0, i-within/2); j < min(len(flux), i+within/2+1); j++ {
		if flux[j] > flux[i] || flux[j] == flux[i] && j < i {
			return false
		}
	}
	return true
}

// Groups counts the strokes of each group, a group ending wherever the next stroke is more than pause away.
func Groups(onsets []time.Duration, pause time.Duration) []uint8 {
	var groups []uint8
	for i, at := range onsets {
		if i == 0 || at-onsets[i-1] > pause {
			groups = append(groups, 0)
		}
		groups[len(groups)-1]++
	}
	return groups
}
