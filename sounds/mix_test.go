package sounds_test

import (
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/sounds"
)

// However a device portions its reading, the stream is the same.
func TestTheStreamDoesNotDependOnHowItIsRead(t *testing.T) {
	bell := sounds.Voices()[2].Stroke(sounds.Rate, 1)
	rapid.Check(t, func(t *rapid.T) {
		var whole, parts sounds.Mixer
		for _, at := range rapid.SliceOfN(rapid.Int64Range(0, sounds.Rate), 0, 5).Draw(t, "strokes at") {
			whole.Strike(at, bell)
			parts.Strike(at, bell)
		}
		want := read(&whole, 2*sounds.Rate)
		var got []float64
		for len(got) < len(want) {
			got = append(got, read(&parts, rapid.IntRange(1, 9000).Draw(t, "portion"))...)
		}
		require.Equal(t, want, got[:len(want)])
		require.Equal(t, int64(len(got)), parts.Now())
	})
}

// A stroke asked for too late sounds at once and whole.
func TestALateStrokeSoundsAtOnce(t *testing.T) {
	bell := sounds.Voices()[0].Stroke(sounds.Rate, 1)
	var late, punctual sounds.Mixer
	read(&late, 1000)
	late.Strike(3, bell)
	punctual.Strike(0, bell)
	require.Equal(t, read(&punctual, len(bell)), read(&late, len(bell)))
	require.Zero(t, highest(read(&late, 1000)), "and then there is silence")
}

func highest(samples []float64) float64 {
	var top float64
	for _, x := range samples {
		top = max(top, x, -x)
	}
	return top
}

// An odd buffer keeps its last byte, and an empty one is no trouble.
func TestAnOddBufferKeepsItsLastByte(t *testing.T) {
	var m sounds.Mixer
	p := []byte{1, 2, 3, 4, 5}
	n, err := m.Read(p)
	require.NoError(t, err)
	require.Equal(t, 4, n)
	require.Equal(t, []byte{0, 0, 0, 0, 5}, p)
	n, err = m.Read(nil)
	require.NoError(t, err)
	require.Zero(t, n)
}

// Many may strike while one reads; go test -race watches.
func TestStrikingAndReadingAtOnce(t *testing.T) {
	var m sounds.Mixer
	bell := sounds.Voices()[2].Stroke(sounds.Rate, 1)
	var hands sync.WaitGroup
	for range 8 {
		hands.Go(func() {
			for range 50 {
				m.Strike(m.Now(), bell)
			}
		})
	}
	for range 20 {
		read(&m, 480)
	}
	hands.Wait()
	require.Greater(t, highest(read(&m, 480)), 0.0)
}

func BenchmarkStroke(b *testing.B) {
	for _, v := range sounds.Voices() {
		b.Run(v.Name, func(b *testing.B) {
			for b.Loop() {
				v.Stroke(sounds.Rate, 1)
			}
			b.ReportMetric(v.Long().Seconds()*float64(b.N)/b.Elapsed().Seconds(), "times-real-time")
		})
	}
}

// Twelve strokes that overlap: a second of sound, as the loudspeaker takes it, 10 ms at a time.
func BenchmarkMixTwelve(b *testing.B) {
	var bells [][]float32
	for _, v := range sounds.Voices() {
		bells = append(bells, v.Stroke(sounds.Rate, 1))
	}
	p := make([]byte, 2*sounds.Rate/100)
	for b.Loop() {
		var m sounds.Mixer
		for n := range 12 {
			m.Strike(int64(n*sounds.Rate/100), bells[n%len(bells)])
		}
		for range 100 {
			m.Read(p)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "times-real-time")
}

func BenchmarkAssign(b *testing.B) {
	for _, n := range []int{2, 6, 12} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var in []sounds.Instrument
			for i := range n {
				in = append(in, sounds.Instrument{Box: "B", Hears: fmt.Sprint(i)})
			}
			for b.Loop() {
				sounds.Assign(in, false)
			}
		})
	}
}
