package sounds

import (
	"math"
	"time"
)

// A Hand is the pace at which a code is rung.
type Hand struct {
	Beat  time.Duration // from one beat to the next within a group
	Pause time.Duration // from the last beat of a group to the first of the next
}

// GoodHand rings as a signaller likes to hear it: unhurried, and the pause two and a half times the beat
// (common practice, no source).
func GoodHand() Hand { return HandOf(300 * time.Millisecond) }

// HandOf is a hand of the given pace with the pause of a good hand.
func HandOf(beat time.Duration) Hand { return Hand{Beat: beat, Pause: beat * 5 / 2} }

// Times are the moments of the beats of a code, the first at nothing.
func (h Hand) Times(groups []uint8) []time.Duration {
	var times []time.Duration
	var at time.Duration
	for _, beats := range groups {
		for range beats {
			times = append(times, at)
			at += h.Beat
		}
		at += h.Pause - h.Beat
	}
	return times
}

// Ring renders a whole code as one sound, each stroke over the last one's ringing, no two of quite the same
// force. It never passes −1 dBFS.
func Ring(v Voice, rate int, groups []uint8, h Hand) []float32 {
	var m Mixer
	var end int64
	for n, t := range h.Times(groups) {
		at := int64(math.Round(t.Seconds() * float64(rate)))
		samples := v.Stroke(rate, Force(uint32(n)))
		m.strokes = append(m.strokes, stroke{at, samples})
		end = max(end, at+int64(len(samples)))
	}
	out := make([]float32, end)
	for i, x := range m.mix(len(out)) {
		out[i] = float32(soften(x))
	}
	return out
}
