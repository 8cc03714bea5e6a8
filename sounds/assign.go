package sounds

import "math"

// An Instrument is one bell on a block shelf: it stands in Box and rings when Hears sends.
type Instrument struct {
	Box   string
	Hears string
	Wish  string // the voice the layout chose; empty: to be computed
}

// Assign gives every instrument a voice and returns their names in the order given. On one shelf any two
// bells differ by body and by a minor third or more; where all boxes stand in one room, every bell there has a
// voice of its own. A wish is always granted, even one that breaks this; a wish for an unknown voice counts as
// none. The choice depends on nothing but the arguments, and boxes added at the end, without wishes, change
// nothing before them.
func Assign(instruments []Instrument, oneRoom bool) []string {
	c := newChooser()
	given := make([]int, len(instruments))
	for i, in := range instruments {
		given[i] = c.find(in.Wish)
	}
	for _, shelf := range shelves(instruments) {
		var elsewhere []int
		if oneRoom {
			elsewhere = voicesOutside(shelf, instruments, given)
		}
		c.fill(shelf, given, elsewhere)
	}
	names := make([]string, len(instruments))
	for i, v := range given {
		names[i] = c.voices[v].Name
	}
	return names
}

// Distinct tells whether two voices may hang on one shelf: of different bodies, at least a minor third and not
// an octave apart, and with their three strongest partials at least 3 % clear of one another.
func Distinct(a, b Voice) bool {
	return a.Body != b.Body && farApart(a.Heard, b.Heard) && clearPartials(a, b)
}

const minorThird = 3.0 // semitones

// farApart is a minor third or more, and not within half a semitone of one octave or more.
func farApart(a, b float64) bool {
	steps := math.Abs(12 * math.Log2(a/b))
	octaves := math.Round(steps / 12)
	if octaves > 0 && math.Abs(steps-12*octaves) < 0.5 {
		return false
	}
	return steps >= minorThird-1e-5
}

func clearPartials(a, b Voice) bool {
	for _, p := range a.Strongest(3) {
		for _, q := range b.Strongest(3) {
			f, g := a.Base*p.Ratio, b.Base*q.Ratio
			if math.Abs(f-g) < 0.03*min(f, g) {
				return false
			}
		}
	}
	return true
}

// shelves lists the instruments of each box, boxes in the order in which they first appear.
func shelves(instruments []Instrument) [][]int {
	var all [][]int
	at := map[string]int{}
	for i, in := range instruments {
		n, known := at[in.Box]
		if !known {
			n = len(all)
			at[in.Box] = n
			all = append(all, nil)
		}
		all[n] = append(all[n], i)
	}
	return all
}

// voicesOutside lists the voices already given on other shelves than this.
func voicesOutside(shelf []int, instruments []Instrument, given []int) []int {
	var voices []int
	for i, v := range given {
		if v != none && instruments[i].Box != instruments[shelf[0]].Box {
			voices = append(voices, v)
		}
	}
	return voices
}
