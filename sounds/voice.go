package sounds

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"
)

// Rate is the sampling rate, in hertz, at which every sound of a sitting is made.
const Rate = 48000

// A Voice is the sound of one bell: what hangs on the wall, and how it sounds when it is struck.
type Voice struct {
	Name   string  `toml:"name"`   // one word, as the layout file writes it
	Body   string  `toml:"body"`   // what is struck; voices of one body are of one family
	Says   string  `toml:"says"`   // the sound in a few words
	Base   float64 `toml:"base"`   // hertz; every partial is a ratio of it
	Heard  float64 `toml:"heard"`  // hertz; the note the ear takes
	Source string  `toml:"source"` // where the ratios come from
	Grade  string  `toml:"grade"`  // of the ratios: S read in the source, C computed, M from memory, P practice

	Partials []Partial `toml:"partial"`
	Strike   Strike    `toml:"strike"`

	gain float64 // brings the voice to its loudness; see loudness.go
}

// A Partial is one pure tone of a struck body.
type Partial struct {
	Ratio float64 `toml:"ratio"` // of the voice's base
	Gain  float64 `toml:"gain"`  // at the moment of striking, beside the other partials
	T60   float64 `toml:"t60"`   // seconds until it has fallen by 60 dB
}

// A Strike is the short noise of hammer on metal. It is what makes fast beats countable on a small loudspeaker.
type Strike struct {
	Gain   float64 `toml:"gain"`
	Centre float64 `toml:"centre"` // hertz, of the band the noise is in
}

// ErrNotVoice is the error of ReadVoice for a text that describes no voice.
var ErrNotVoice = errors.New("sounds: not a voice")

//go:embed voices/*.toml
var voiceFiles embed.FS

// shelfOrder is the order in which voices are listed and, where nothing else decides, given out: the first
// ones differ most from one another.
func shelfOrder() []string {
	return []string{"dome", "coil", "cow", "tube", "bar", "plate", "tongue", "hand"}
}

// Voices lists every voice there is, in the order in which they are given out.
func Voices() []Voice { return slices.Clone(embedded()) }

// embedded are the voices that come with the program, read once: a process that serves many sittings asks for each.
var embedded = sync.OnceValue(func() []Voice {
	var all []Voice
	for _, name := range shelfOrder() {
		text, err := fs.ReadFile(voiceFiles, "voices/"+name+".toml")
		if err != nil {
			panic("sounds: the embedded voice " + name + " is not there")
		}
		v, err := ReadVoice(text)
		if err != nil {
			panic("sounds: the embedded voice " + name + " is not to be read: " + err.Error())
		}
		all = append(all, v)
	}
	return all
})

// FindVoice finds a voice by the name a layout gives it: "dome", or "dome+4" and "dome-6" for a sister of the
// same body four semitones higher or six lower.
func FindVoice(name string) (Voice, bool) {
	if plain, steps, ok := splitSister(name); ok {
		v, found := FindVoice(plain)
		if !found || !slices.Contains(sistersOf(v), steps) {
			return Voice{}, false
		}
		return v.pitched(steps), true
	}
	i := slices.Index(shelfOrder(), name)
	if i < 0 {
		return Voice{}, false
	}
	return embedded()[i], true
}

// ReadVoice reads the description of one voice. It refuses a key it does not know, a partial that is no
// audible tone and a voice without a name.
func ReadVoice(text []byte) (Voice, error) {
	var v Voice
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&v); err != nil {
		return Voice{}, fmt.Errorf("%w: %w", ErrNotVoice, err)
	}
	if v.Name == "" || v.Body == "" || len(v.Partials) == 0 {
		return Voice{}, fmt.Errorf("%w: it needs a name, a body and at least one partial", ErrNotVoice)
	}
	if !(v.Heard >= 100 && v.Heard <= 4000) {
		return Voice{}, fmt.Errorf("%w: %q is heard at %g Hz; 100 to 4000 can be heard well", ErrNotVoice, v.Name, v.Heard)
	}
	for i, p := range v.Partials {
		f := v.Base * p.Ratio
		if !(f >= 20 && f <= 20000) {
			return Voice{}, fmt.Errorf("%w: partial %d of %q is at %g Hz; 20 to 20000 can be heard", ErrNotVoice, i+1, v.Name, f)
		}
		if !(p.Gain > 0 && p.Gain <= 1) || !(p.T60 >= 0.05 && p.T60 <= 3) {
			return Voice{}, fmt.Errorf("%w: partial %d of %q needs a gain over 0 and up to 1, and a t60 of 0.05 to 3 seconds",
				ErrNotVoice, i+1, v.Name)
		}
	}
	if !(v.Strike.Gain >= 0 && v.Strike.Gain <= 2) || !(v.Strike.Centre >= 100 && v.Strike.Centre <= 12000) {
		return Voice{}, fmt.Errorf("%w: the strike of %q needs a gain of 0 to 2 and a centre of 100 to 12000 Hz", ErrNotVoice, v.Name)
	}
	v.gain = equalGain(v)
	return v, nil
}

// The range in which a sister voice may be heard: small tablets give little below it, and above it the bells
// of one room become alike.
const (
	lowestSister  = 350
	highestSister = 1100
)

// sistersOf lists by how many semitones a voice may be moved to make another of the same body.
func sistersOf(v Voice) []int {
	var steps []int
	for _, n := range [...]int{4, -4, 6, -6} {
		if h := v.Heard * math.Exp2(float64(n)/12); h >= lowestSister && h <= highestSister {
			steps = append(steps, n)
		}
	}
	return steps
}

// pitched is the same body, larger or smaller.
func (v Voice) pitched(semitones int) Voice {
	v = v.moved(semitones)
	v.gain = equalGain(v)
	return v
}

// moved is pitched without bringing it to its loudness, which takes its time.
func (v Voice) moved(semitones int) Voice {
	by := math.Exp2(float64(semitones) / 12)
	v.Name = fmt.Sprintf("%s%+d", v.Name, semitones)
	v.Base *= by
	v.Heard *= by
	return v
}

func splitSister(name string) (plain string, steps int, ok bool) {
	i := strings.IndexAny(name, "+-")
	if i < 0 {
		return name, 0, false
	}
	steps, err := strconv.Atoi(name[i:])
	return name[:i], steps, err == nil
}

// Night is the same voice for a house where others sleep: a quarter as loud to the ear, and half as long.
func (v Voice) Night() Voice {
	v.Partials = slices.Clone(v.Partials)
	for i := range v.Partials {
		v.Partials[i].T60 /= 2
	}
	v.gain *= nightGain
	return v
}

// nightGain is 18 dB less than by day. Ten decibels less is about half as loud (common practice, no source).
const nightGain = 0.126
