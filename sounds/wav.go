package sounds

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

const wavHeader = 44 // bytes before the first sample

// WriteWAV writes samples as a RIFF WAVE file: PCM, 16 bits, one channel. A sample outside −1 to 1 is held at
// the limit, never wrapped.
func WriteWAV(w io.Writer, rate int, samples []float32) error {
	file := make([]byte, 0, wavHeader+2*len(samples))
	le := binary.LittleEndian
	file = append(file, "RIFF"...)
	file = le.AppendUint32(file, uint32(wavHeader-8+2*len(samples)))
	file = append(file, "WAVEfmt "...)
	file = le.AppendUint32(file, 16)             // bytes of what follows up to "data"
	file = le.AppendUint16(file, 1)              // PCM
	file = le.AppendUint16(file, 1)              // channels
	file = le.AppendUint32(file, uint32(rate))   // samples a second
	file = le.AppendUint32(file, uint32(2*rate)) // bytes a second
	file = le.AppendUint16(file, 2)              // bytes a sample
	file = le.AppendUint16(file, 16)             // bits a sample
	file = append(file, "data"...)
	file = le.AppendUint32(file, uint32(2*len(samples)))
	for _, x := range samples {
		file = le.AppendUint16(file, uint16(sixteen(x)))
	}
	if _, err := w.Write(file); err != nil {
		return fmt.Errorf("write sound: %w", err)
	}
	return nil
}

func sixteen(x float32) int16 {
	return int16(math.Round(float64(min(max(x, -1), 1)) * math.MaxInt16))
}
