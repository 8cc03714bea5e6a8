package sim

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"time"
)

// Spread is how long people take over something: a log-normal time of which half are shorter than Median and nine in
// ten shorter than P90 (computation 4.6; no published times were found).
type Spread struct{ Median, P90 time.Duration }

// chance is the luck of one person or train. Each has a stream of his own, so that adding a box shifts nobody else's.
type chance struct{ r *rand.Rand }

func newChance(seed uint64, who string) chance {
	h := fnv.New64a()
	_, _ = h.Write([]byte(who))
	return chance{rand.New(rand.NewPCG(seed, h.Sum64()))}
}

// time draws from a spread, held between four tenths and six times its median.
func (c chance) time(s Spread) time.Duration {
	if s.Median <= 0 {
		return 0
	}
	sigma := math.Log(float64(s.P90)/float64(s.Median)) / 1.28155
	t := float64(s.Median) * math.Exp(sigma*c.r.NormFloat64())
	t = min(max(t, 0.4*float64(s.Median)), 6*float64(s.Median))
	return time.Duration(t).Round(time.Second / 10)
}

// happens tells whether something of that likelihood does.
func (c chance) happens(p float64) bool { return p > 0 && c.r.Float64() < p }
