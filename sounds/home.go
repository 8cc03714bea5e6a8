package sounds

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/pelletier/go-toml/v2"
)

// A Noise is one of the quiet sounds of a signaller's own apparatus: what his hand did, heard at once. It is
// far softer than any bell, so that it is never taken for one.
type Noise struct {
	Name   string  `toml:"name"`
	Says   string  `toml:"says"`
	Peak   float64 `toml:"peak"` // dBFS of its highest sample
	Knocks []Knock `toml:"knock"`
}

// A Knock is one blow within a noise: a lever's catch comes before the lever's own thump.
type Knock struct {
	After    float64   `toml:"after"` // seconds from the beginning of the noise
	Loud     float64   `toml:"loud"`  // beside the other knocks
	Partials []Partial `toml:"partial"`
	Strike   Strike    `toml:"strike"`
}

// ErrNotNoise is the error of readNoise for a text that describes no noise.
var ErrNotNoise = errors.New("sounds: not a noise")

//go:embed home/*.toml
var homeFiles embed.FS

// noiseOrder lists the noises as a hand meets them in working one train.
func noiseOrder() []string { return []string{"clack", "click", "lever", "drawn", "restored"} }

// Noises lists the sounds of the apparatus at home: clack, the bell plunger; click, the indicator's handle;
// lever, a lever pulled or put back; drawn and restored, a token taken out of its instrument and put back.
func Noises() []Noise {
	var all []Noise
	for _, name := range noiseOrder() {
		n, ok := FindNoise(name)
		if !ok {
			panic("sounds: embedded noise " + name + " is not to be read")
		}
		all = append(all, n)
	}
	return all
}

// FindNoise finds a noise by its name.
func FindNoise(name string) (Noise, bool) {
	if !slices.Contains(noiseOrder(), name) {
		return Noise{}, false
	}
	text, err := homeFiles.ReadFile("home/" + name + ".toml")
	if err != nil {
		return Noise{}, false
	}
	n, err := readNoise(text)
	return n, err == nil
}

func readNoise(text []byte) (Noise, error) {
	var n Noise
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&n); err != nil {
		return Noise{}, fmt.Errorf("%w: %w", ErrNotNoise, err)
	}
	if n.Name == "" || len(n.Knocks) == 0 || n.Peak > -12 {
		return Noise{}, fmt.Errorf("%w: it needs a name, a knock and a peak of −12 dBFS or less", ErrNotNoise)
	}
	return n, nil
}

// Sound is the noise at the given sampling rate. It begins and ends at exactly nothing.
func (n Noise) Sound(rate int) []float32 {
	var sum []float64
	for _, k := range n.Knocks {
		blow := Voice{Base: 1, Partials: k.Partials, Strike: k.Strike}.raw(rate, 1)
		at := int(math.Round(k.After * float64(rate)))
		if need := at + len(blow); need > len(sum) {
			sum = append(sum, make([]float64, need-len(sum))...)
		}
		for i, x := range blow {
			sum[at+i] += float64(x * k.Loud)
		}
	}
	gain := math.Pow(10, n.Peak/20) / peak(sum)
	out := make([]float32, len(sum))
	for i, x := range sum {
		out[i] = float32(float64(x * gain))
	}
	return out
}
