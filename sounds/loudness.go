package sounds

import "math"

const (
	target = -24.5 // LKFS over the first 400 ms of a stroke
	// PeakLimit is the highest sample of any single stroke: −6 dBFS.
	PeakLimit = 0.501187
)

// equalGain is what brings a voice to the loudness of the others, or as near to it as the peak limit allows.
func equalGain(v Voice) float64 {
	sum := v.raw(Rate, 1)
	loud := math.Pow(10, (target-loudness(sum))/20)
	return min(loud, PeakLimit/peak(sum))
}

// Loudness is how loud a sound at 48 kHz seems, in LKFS: the momentary loudness of ITU-R BS.1770 (mono,
// K-weighted, mean square of the first 400 ms, no gating). A shorter sound is taken to be followed by silence.
func Loudness(samples []float32) float64 {
	wide := make([]float64, len(samples))
	for i, x := range samples {
		wide[i] = float64(x)
	}
	return loudness(wide)
}

func loudness(samples []float64) float64 {
	const window = Rate * 400 / 1000
	shelf := biquad{b0: 1.53512485958697, b1: -2.69169619938638, b2: 1.19839281085285, a1: -1.69065929318241, a2: 0.73248077421585}
	pass := biquad{b0: 1, b1: -2, b2: 1, a1: -1.99004745483398, a2: 0.99007225036621}
	var sum float64
	for _, x := range samples[:min(len(samples), window)] {
		y := pass.next(shelf.next(x))
		sum += float64(y * y)
	}
	return -0.691 + 10*math.Log10(sum/window)
}

// biquad is a filter of the second order in direct form 1. Its products are converted one by one for the same
// reason as those of addPartial.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	x1, x2, y1, y2     float64
}

func (q *biquad) next(x float64) float64 {
	y := float64(q.b0*x) + float64(q.b1*q.x1) + float64(q.b2*q.x2) - float64(q.a1*q.y1) - float64(q.a2*q.y2)
	q.x1, q.x2, q.y1, q.y2 = x, q.x1, y, q.y1
	return y
}

func peak(samples []float64) float64 {
	var top float64
	for _, x := range samples {
		top = max(top, math.Abs(x))
	}
	return top
}
