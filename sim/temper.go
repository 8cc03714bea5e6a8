package sim

import (
	"time"

	"taillamp/block"
)

// Temper is how a person works a box. Times are guesses from common practice, no source (computation 4.6).
type Temper struct {
	Name   string
	Answer Spread        // a call for attention
	Act    Spread        // anything else: a repetition, a needle, a signal of his own
	Out    Spread        // train out of section, once the tail lamp has been seen
	Away   Spread        // when he was not at the instruments
	Often  float64       // how often he is away, 0 to 1
	Most   time.Duration // he never takes longer than this; zero: no limit
	Beat   time.Duration // from beat to beat of a code
	Pause  time.Duration // between its groups, more than a beat
}

// The four tempers. Steady and slow men are never so slow that the book would say so.
var (
	Brisk = Temper{Name: "brisk", Answer: sec(1.5, 3), Act: sec(2.5, 5), Out: sec(4, 8),
		Beat: 350 * time.Millisecond, Pause: 600 * time.Millisecond, Most: 20 * time.Second}
	Steady = Temper{Name: "steady", Answer: sec(2.5, 5), Act: sec(4, 9), Out: sec(6, 15), Away: sec(15, 25), Often: 0.05,
		Beat: 450 * time.Millisecond, Pause: 800 * time.Millisecond, Most: 25 * time.Second}
	Slow = Temper{Name: "slow", Answer: sec(4, 8), Act: sec(5, 10), Out: sec(8, 20), Away: sec(12, 20), Often: 0.1,
		Beat: 550 * time.Millisecond, Pause: time.Second, Most: 20 * time.Second}
	Forgetful = Temper{Name: "forgetful", Answer: sec(4, 12), Act: sec(6, 15), Out: sec(10, 30), Away: sec(60, 200), Often: 0.1,
		Beat: 500 * time.Millisecond, Pause: 900 * time.Millisecond}
)

func sec(median, p90 float64) Spread {
	return Spread{time.Duration(median * float64(time.Second)), time.Duration(p90 * float64(time.Second))}
}

// quickest is how soon a man can answer; two calls within a second are two men calling at once.
const quickest = 1200 * time.Millisecond

// takes is how long he takes before an act.
func (t *Temper) takes(c chance, a block.Advice) time.Duration {
	s := t.Act
	switch {
	case a.Do == block.Turn: // his hand is on the instruments already
		s = t.Answer
	case c.happens(t.Often):
		s = t.Away
	case a.Answers && len(a.Beats) == 1 && a.Beats[0] == 1:
		s = t.Answer
	case a.Key == "out-of-section" && !a.Answers:
		s = t.Out
	}
	d := max(c.time(s), quickest)
	most := t.Most
	if a.Do == block.Turn && most > 0 {
		most /= 2
	}
	if most > 0 {
		d = min(d, most)
	}
	return d
}

// rings is how long a code sounds, from its first beat to its last.
func (t *Temper) rings(b block.Beats) time.Duration {
	var d time.Duration
	for i, n := range b {
		d += time.Duration(n-1) * t.Beat
		if i > 0 {
			d += t.Beat + t.Pause
		}
	}
	return d
}
