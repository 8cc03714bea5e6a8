package sounds

import (
	"encoding/binary"
	"math"
	"slices"
	"sync"
)

const (
	mixLevel = 0.7    // of each stroke; two of the loudest at one instant stay below the knee
	knee     = 0.66   // above it the mix is bent, below it nothing is touched
	ceiling  = 0.8912 // just under −1 dBFS, also when rounded to 16 bits; the mix comes near it and never passes
	mostHung = 256    // strokes kept at a time; beyond them the oldest is let go
)

// A Mixer adds strokes into one endless stream. A stroke may begin while others sound, as a real bell rings on
// when it is struck again. The stream never passes −1 dBFS, however many bells ring at once. Its zero value is
// silent and ready; it may be used by several goroutines.
type Mixer struct {
	mu      sync.Mutex
	now     int64 // number of the next sample to be read
	strokes []stroke
	sum     []float64
}

type stroke struct {
	at      int64
	samples []float32
}

// Now is the number of the next sample that Read will give.
func (m *Mixer) Now() int64 {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.now
}

// Strike lets the samples begin at the given sample number; one that has already been read means at once. The
// caller must not change the samples afterwards.
func (m *Mixer) Strike(at int64, samples []float32) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.strokes) == mostHung {
		m.strokes = slices.Delete(m.strokes, 0, 1)
	}
	m.strokes = append(m.strokes, stroke{max(at, m.now), samples})
}

// Read fills p with the next samples, 16 bits each, little-endian, one channel. It never ends and never waits:
// between strokes there is silence. A last odd byte of p is left alone.
func (m *Mixer) Read(p []byte) (int, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := len(p) / 2
	for i, x := range m.mix(n) {
		binary.LittleEndian.PutUint16(p[2*i:], uint16(sixteen(float32(soften(x)))))
	}
	return 2 * n, nil
}

// mix adds up the next n samples and lets go of what has ended.
func (m *Mixer) mix(n int) []float64 {
	m.sum = slices.Grow(m.sum[:0], n)[:n]
	clear(m.sum)
	end := m.now + int64(n)
	for _, s := range m.strokes {
		from, to := max(s.at, m.now), min(s.at+int64(len(s.samples)), end)
		for i := from; i < to; i++ {
			m.sum[i-m.now] += float64(mixLevel * float64(s.samples[i-s.at]))
		}
	}
	m.now = end
	m.strokes = slices.DeleteFunc(m.strokes, func(s stroke) bool { return s.at+int64(len(s.samples)) <= end })
	return m.sum
}

// soften leaves a quiet sample alone and bends a loud one toward the ceiling, smoothly at the knee.
func soften(x float64) float64 {
	loud := math.Abs(x)
	if loud <= knee {
		return x
	}
	const room = ceiling - knee
	return math.Copysign(knee+room*math.Tanh((loud-knee)/room), x)
}
