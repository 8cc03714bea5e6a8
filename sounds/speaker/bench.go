package speaker

import (
	"sync"
	"time"

	"taillamp/sounds"
)

// A bench is where strokes are laid into the stream that a device reads. A device reads in gulps, some
// milliseconds early or late; the bench finds the steady pace behind the gulps, so that the rhythm of a code
// is not bent by them.
type bench struct {
	mixer sounds.Mixer
	rate  int
	clock func() time.Time

	mu    sync.Mutex
	began time.Time // when the device first asked for samples
	read  time.Time // when it asked last
	lead  float64   // by how many seconds the stream is ahead of the clock just after a gulp, at the most
	given int64     // samples given so far
	beats uint32
}

const (
	gulp   = 50 * time.Millisecond // a stream that is off its pace by more has been interrupted
	stall  = time.Second           // a device that has not asked for so long plays no more
	easing = 0.0005                // seconds a second by which the lead is let down, for clocks that drift apart
)

func newBench(rate int) *bench { return &bench{rate: rate, clock: time.Now} }

// Read gives the device its next samples and keeps its pace.
func (b *bench) Read(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.clock()
	if b.began.IsZero() {
		b.began, b.read = now, now
	}
	n, err := b.mixer.Read(p)
	b.given += int64(n / 2)
	lead := b.seconds(b.given) - now.Sub(b.began).Seconds()
	b.lead -= easing * now.Sub(b.read).Seconds()
	if lead > b.lead || lead < b.lead-gulp.Seconds() {
		b.lead = lead
	}
	b.read = now
	return n, err
}

// Strike lays one stroke into the stream. Nothing is laid into a stream that nobody reads: its bells would
// ring all at once when the device wakes.
func (b *bench) Strike(v sounds.Voice, after time.Duration) {
	at, n, reading := b.place(max(after, 0))
	if !reading {
		return
	}
	b.mixer.Strike(at, v.Stroke(b.rate, sounds.Force(n)))
}

// place is the sample at which a stroke asked for now should begin, and the number of its beat.
func (b *bench) place(after time.Duration) (at int64, beat uint32, reading bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.clock()
	if b.began.IsZero() || now.Sub(b.read) > stall {
		return 0, 0, false
	}
	b.beats++
	steady := int64((now.Sub(b.began).Seconds() + b.lead) * float64(b.rate))
	steady = min(steady, b.given+b.samples(gulp))
	return steady + b.samples(after), b.beats, true
}

// stalled tells whether the device has ceased to ask for samples.
func (b *bench) stalled() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.began.IsZero() || b.clock().Sub(b.read) > stall
}

func (b *bench) seconds(samples int64) float64 { return float64(samples) / float64(b.rate) }
func (b *bench) samples(d time.Duration) int64 { return int64(d.Seconds() * float64(b.rate)) }
