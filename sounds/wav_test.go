package sounds_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

// The header of a RIFF WAVE file of PCM sound, field by field (McGill University, "Audio File Format
// Specifications: WAVE", after Microsoft's and IBM's Multimedia Programming Interface 1.0 of 1991).
func TestWAVIsAsPublished(t *testing.T) {
	for _, n := range []int{0, 1, sounds.Rate} {
		var file bytes.Buffer
		require.NoError(t, sounds.WriteWAV(&file, sounds.Rate, make([]float32, n)))
		b := file.Bytes()
		require.Len(t, b, 44+2*n)
		u16 := func(at int) int { return int(binary.LittleEndian.Uint16(b[at:])) }
		u32 := func(at int) int { return int(binary.LittleEndian.Uint32(b[at:])) }
		require.Equal(t, "RIFF", string(b[0:4]))
		require.Equal(t, len(b)-8, u32(4), "bytes after this field")
		require.Equal(t, "WAVE", string(b[8:12]))
		require.Equal(t, "fmt ", string(b[12:16]))
		require.Equal(t, 16, u32(16), "bytes of the format")
		require.Equal(t, 1, u16(20), "PCM")
		require.Equal(t, 1, u16(22), "channels")
		require.Equal(t, 48000, u32(24), "samples a second")
		require.Equal(t, 48000*1*16/8, u32(28), "bytes a second")
		require.Equal(t, 1*16/8, u16(32), "bytes of a sample of all channels")
		require.Equal(t, 16, u16(34), "bits of a sample")
		require.Equal(t, "data", string(b[36:40]))
		require.Equal(t, 2*n, u32(40), "bytes of samples")
	}
}

// A sample too loud is held at the limit and never wraps to the other side.
func TestWAVHoldsWhatIsTooLoud(t *testing.T) {
	samples := []float32{0, 1, -1, 0.5, -0.5, 3, -3, float32(math.Inf(1)), 1e-9}
	var file bytes.Buffer
	require.NoError(t, sounds.WriteWAV(&file, sounds.Rate, samples))
	var got []int16
	for b := file.Bytes()[44:]; len(b) > 0; b = b[2:] {
		got = append(got, int16(binary.LittleEndian.Uint16(b)))
	}
	require.Equal(t, []int16{0, 32767, -32767, 16384, -16384, 32767, -32767, 32767, 0}, got)
}

var errFull = errors.New("the disk is full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWAVTellsWhenItCannotBeWritten(t *testing.T) {
	require.ErrorIs(t, sounds.WriteWAV(full{}, sounds.Rate, nil), errFull)
}
