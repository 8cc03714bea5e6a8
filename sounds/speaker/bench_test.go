package speaker

import (
	"bytes"
	"encoding/binary"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
	"taillamp/sounds/soundtest"
)

// A reader is a device whose clock the test moves: it takes 10 ms of samples each 10 ms, more or less punctually.
type reader struct {
	*bench
	now   time.Time
	due   time.Time // of the next gulp
	late  func() time.Duration
	heard bytes.Buffer
}

const gulpLong = 10 * time.Millisecond

func newReader(late func() time.Duration) *reader {
	r := &reader{bench: newBench(sounds.Rate), now: time.Date(1960, 6, 4, 15, 30, 0, 0, time.UTC), late: late}
	r.due = r.now
	r.clock = func() time.Time { return r.now }
	return r
}

// until lets the device read up to a moment.
func (r *reader) until(moment time.Time) {
	for {
		at := r.due.Add(r.late())
		if at.After(moment) {
			break
		}
		r.now = at
		p := make([]byte, 2*r.samples(gulpLong))
		n, _ := r.Read(p)
		r.heard.Write(p[:n])
		r.due = r.due.Add(gulpLong)
	}
	r.now = moment
}

func (r *reader) sound() []float32 {
	raw := r.heard.Bytes()
	out := make([]float32, len(raw)/2)
	for i := range out {
		out[i] = float32(int16(binary.LittleEndian.Uint16(raw[2*i:]))) / 32768
	}
	return out
}

func punctual() time.Duration { return 0 }

// Story K7: a code keeps its rhythm on the wall although the device reads in gulps that come up to 9 ms late.
func TestGulpsDoNotBendTheRhythm(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 7))
	r := newReader(func() time.Duration { return time.Duration(dice.Int64N(int64(9 * time.Millisecond))) })
	cow, _ := sounds.FindVoice("cow")
	start := r.now.Add(2 * time.Second)
	var struck []time.Duration
	for n := range 40 {
		at := time.Duration(n) * 213 * time.Millisecond
		r.until(start.Add(at))
		r.Strike(cow, 0)
		struck = append(struck, at)
	}
	r.until(r.now.Add(time.Second))

	found := soundtest.Onsets(r.sound(), sounds.Rate)
	require.Len(t, found, len(struck))
	for i := 1; i < len(found); i++ {
		bent := (found[i] - found[i-1]) - (struck[i] - struck[i-1])
		require.Less(t, bent.Abs(), 4*time.Millisecond, "beat %d", i) // the listener itself looks each 2 ms
	}
}

func TestAfterIsWaitedFor(t *testing.T) {
	r := newReader(punctual)
	cow, _ := sounds.FindVoice("cow")
	r.until(r.now.Add(time.Second))
	r.Strike(cow, 120*time.Millisecond)
	r.until(r.now.Add(time.Second))

	found := soundtest.Onsets(r.sound(), sounds.Rate)
	require.Len(t, found, 1)
	require.InDelta(t, 1.120, found[0].Seconds(), 0.015)
}

func TestNothingPilesUpWhileTheDeviceIsStalled(t *testing.T) {
	r := newReader(punctual)
	cow, _ := sounds.FindVoice("cow")
	r.until(r.now.Add(time.Second))
	require.False(t, r.stalled())

	asleep := r.now.Add(time.Minute)
	for r.now.Before(asleep) {
		r.now = r.now.Add(5 * time.Second) // nobody reads
		r.Strike(cow, 0)
	}
	require.True(t, r.stalled())
	r.due = r.now
	r.until(r.now.Add(time.Second))
	require.Empty(t, soundtest.Onsets(r.sound(), sounds.Rate))
}

func TestABellRingsAtOnceAfterAnInterruption(t *testing.T) {
	r := newReader(punctual)
	cow, _ := sounds.FindVoice("cow")
	r.until(r.now.Add(time.Second))
	r.now = r.now.Add(10 * time.Second)
	r.due = r.now
	r.until(r.now.Add(time.Second))
	r.Strike(cow, 0)
	r.until(r.now.Add(time.Second))

	found := soundtest.Onsets(r.sound(), sounds.Rate)
	require.Len(t, found, 1)
	require.InDelta(t, 2.0, found[0].Seconds(), 0.03)
}
