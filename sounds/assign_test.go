package sounds_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
	"taillamp/sounds"
)

// mostApart is how many neighbours can all differ by body and by a minor third from one another.
const mostApart = 7

// drawShelves draws boxes with 1 to most neighbours each.
func drawShelves(t *rapid.T, boxes, most int) []sounds.Instrument {
	var all []sounds.Instrument
	for box := range rapid.IntRange(1, boxes).Draw(t, "boxes") {
		for n := range rapid.IntRange(1, most).Draw(t, "neighbours") {
			all = append(all, sounds.Instrument{Box: "B" + strconv.Itoa(box), Hears: "N" + strconv.Itoa(n)})
		}
	}
	return all
}

// table is every voice by its name, made once for many trials.
func table(t *testing.T) map[string]sounds.Voice {
	t.Helper()
	all := make(map[string]sounds.Voice)
	for _, v := range everyVoice(t) {
		all[v.Name] = v
	}
	return all
}

func voicesOf(t require.TestingT, table map[string]sounds.Voice, names []string) []sounds.Voice {
	var voices []sounds.Voice
	for _, name := range names {
		require.Contains(t, table, name)
		voices = append(voices, table[name])
	}
	return voices
}

// apart is what a signaller asks of two bells on his shelf: another body, and a minor third or more between the
// notes, which is three semitones of the twelve of an octave.
func apart(a, b sounds.Voice) bool {
	return a.Body != b.Body && math.Abs(12*math.Log2(a.Heard/b.Heard)) >= 3-1e-5
}

func TestBellsOfOneShelfDifferByBodyAndAMinorThird(t *testing.T) {
	all := table(t)
	rapid.Check(t, func(t *rapid.T) {
		in := drawShelves(t, 5, mostApart)
		voices := voicesOf(t, all, sounds.Assign(in, rapid.Bool().Draw(t, "one room")))
		for i := range in {
			for j := range i {
				if in[i].Box == in[j].Box && !apart(voices[i], voices[j]) {
					t.Fatalf("%s hears %s by %s and %s by %s", in[i].Box, in[i].Hears, voices[i].Name, in[j].Hears, voices[j].Name)
				}
			}
		}
	})
}

// In one room no two bells are the same, on whatever shelves they stand, as long as there are voices enough.
func TestBellsOfOneRoomAllDiffer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := sounds.Assign(drawShelves(t, 5, 4), true)
		if len(slices.Compact(slices.Sorted(slices.Values(names)))) != len(names) {
			t.Fatalf("two alike among %v", names)
		}
	})
}

// The layout's choice is granted whatever it is, and the rest is fitted round it.
func TestAWishIsGranted(t *testing.T) {
	all := table(t)
	rapid.Check(t, func(t *rapid.T) {
		in := drawShelves(t, 4, 4)
		for i := range in {
			in[i].Wish = rapid.SampledFrom([]string{"", "", "cow", "hand+4", "dome", "no such voice"}).Draw(t, "wish")
		}
		names := sounds.Assign(in, rapid.Bool().Draw(t, "one room"))
		voices := voicesOf(t, all, names)
		for i, name := range names {
			if _, known := all[in[i].Wish]; known {
				require.Equal(t, in[i].Wish, name)
				continue
			}
			for j := range names {
				if i != j && in[i].Box == in[j].Box {
					require.True(t, apart(voices[i], voices[j]), "%s beside %s", name, names[j])
				}
			}
		}
	})
}

// Computed again the choice is the same, and a box added at the end takes nobody's voice away.
func TestTheChoiceIsStable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawShelves(t, 5, 5)
		room := rapid.Bool().Draw(t, "one room")
		names := sounds.Assign(in, room)
		require.Equal(t, names, sounds.Assign(in, room))
		more := append(slices.Clone(in), sounds.Instrument{Box: "Z", Hears: "Y"}, sounds.Instrument{Box: "Z", Hears: "X"})
		require.Equal(t, names, sounds.Assign(more, room)[:len(names)])
	})
}

// More bells than the wall can hold is no reason to fail or to wait: each gets some voice of its own.
func TestAShelfOfAbsurdSize(t *testing.T) {
	var in []sounds.Instrument
	for n := range 25 {
		in = append(in, sounds.Instrument{Box: "B", Hears: strconv.Itoa(n)})
	}
	names := sounds.Assign(in, true)
	require.Len(t, slices.Compact(slices.Sorted(slices.Values(names))), len(in))
	require.Empty(t, sounds.Assign(nil, false))
}

// shelvesOf lists the instruments of a layout: on either side of every pair of neighbours one bell.
func shelvesOf(t *testing.T, name string) []sounds.Instrument {
	t.Helper()
	files, err := block.EmbeddedLayout(name)
	require.NoError(t, err)
	l, err := block.ReadLayout([]byte(files.Layout))
	require.NoError(t, err)
	var all []sounds.Instrument
	for _, b := range l.Boxes {
		for _, pair := range l.Between {
			if n := slices.Index(pair.Boxes, b.ID); n >= 0 {
				all = append(all, sounds.Instrument{Box: string(b.ID), Hears: string(pair.Boxes[1-n]), Wish: pair.Hears[b.ID]})
			}
		}
	}
	return all
}

// Story B7: on OS's shelf each bell differs from each other by a minor third or more and by family; a spectral ear
// tells them apart 20 times of 20, in codes rung at speed by a hand that varies, over the hiss of a shed.
func TestFourNeighboursAreToldApartByEar(t *testing.T) {
	all := table(t)
	in := shelvesOf(t, "lathermoor")
	in = slices.DeleteFunc(in, func(i sounds.Instrument) bool { return i.Box != "OS" })
	require.GreaterOrEqual(t, len(in), 4)
	shelf := voicesOf(t, all, sounds.Assign(in, false))
	for i := range shelf {
		for j := range i {
			require.True(t, apart(shelf[i], shelf[j]), "%s and %s", shelf[i].Name, shelf[j].Name)
		}
	}
	dice := rand.New(rand.NewPCG(1960, 7))
	codes := [][]uint8{{1}, {2}, {2, 1}, {3, 1}, {1, 3, 1}, {4}, {5, 5, 5}}
	right := 0
	const times = 20
	for n := range times {
		v := shelf[n%len(shelf)]
		hand := sounds.HandOf(time.Duration(180+dice.IntN(300)) * time.Millisecond)
		s := sounds.Ring(v, sounds.Rate, codes[dice.IntN(len(codes))], hand)
		for i := range s {
			s[i] += float32(0.003 * dice.NormFloat64())
		}
		if likest(shelf, s).Name == v.Name {
			right++
		}
	}
	require.Equal(t, times, right)
}

// likest is the voice whose strongest partials hold the most of a sound, each within 1 %.
func likest(shelf []sounds.Voice, s []float32) sounds.Voice {
	spec := spectrum(s)
	return slices.MaxFunc(shelf, func(a, b sounds.Voice) int {
		held := func(v sounds.Voice) (sum float64) {
			for _, p := range v.Strongest(3) {
				sum += energy(spec, v.Base*p.Ratio*0.99, v.Base*p.Ratio*1.01)
			}
			return sum
		}
		switch x, y := held(a), held(b); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
}

// Any two voices given to one shelf of the Lathermoor District have their three strongest partials 3 % or more
// apart, measured in the sound and not in the table.
func TestAssignedVoicesAreClearOfOneAnother(t *testing.T) {
	all := table(t)
	in := shelvesOf(t, "lathermoor")
	names := sounds.Assign(in, false)
	heard := map[string][]float64{}
	for _, v := range voicesOf(t, all, names) {
		heard[v.Name] = strongestHeard(t, v)
	}
	closest := math.Inf(1)
	for i := range in {
		for j := range i {
			if in[i].Box == in[j].Box {
				closest = min(closest, nearestPair(heard[names[i]], heard[names[j]]))
			}
		}
	}
	fmt.Printf("closest strong partials on one shelf of the Lathermoor District: %.1f %% apart\n", 100*closest)
	require.GreaterOrEqual(t, closest, 0.03)
	require.Less(t, closest, 1.0, "nothing was compared")
}

func nearestPair(a, b []float64) float64 {
	closest := math.Inf(1)
	for _, f := range a {
		for _, g := range b {
			closest = min(closest, math.Abs(f-g)/min(f, g))
		}
	}
	return closest
}

func strongestHeard(t *testing.T, v sounds.Voice) []float64 {
	t.Helper()
	spec := spectrum(v.Stroke(sounds.Rate, 1))
	var all []float64
	for _, p := range v.Strongest(3) {
		hz, ok := crest(spec, v.Base*p.Ratio*0.97, v.Base*p.Ratio*1.03)
		require.True(t, ok, v.Name)
		all = append(all, hz)
	}
	return all
}

// All sounds of one box page are 400 kB or less on the network (sent compressed), for the largest shelf of each
// layout, with every noise of the apparatus.
func TestSoundsOfOneBoxAreLightEnough(t *testing.T) {
	all := table(t)
	noises, packedNoises := 0, 0
	for _, n := range sounds.Noises() {
		plain, packed := sizes(t, n.Sound(sounds.Rate))
		noises, packedNoises = noises+plain, packedNoises+packed
	}
	for _, layout := range block.LayoutNames() {
		in := shelvesOf(t, layout)
		total, packedTotal := map[string]int{}, map[string]int{}
		for i, v := range voicesOf(t, all, sounds.Assign(in, false)) {
			plain, packed := sizes(t, v.Stroke(sounds.Rate, 1))
			total[in[i].Box] += plain
			packedTotal[in[i].Box] += packed
		}
		for _, box := range slices.Sorted(maps.Keys(total)) {
			plain, packed := total[box]+noises, packedTotal[box]+packedNoises
			fmt.Printf("layout %-10s box %-2s all sounds %3d kB, compressed %3d kB\n", layout, box, plain/1000, packed/1000)
			require.LessOrEqual(t, packed, 400_000, box)
		}
	}
}

func sizes(t *testing.T, samples []float32) (plain, packed int) {
	t.Helper()
	var file, small bytes.Buffer
	require.NoError(t, sounds.WriteWAV(&file, sounds.Rate, samples))
	w, err := gzip.NewWriterLevel(&small, gzip.BestCompression)
	require.NoError(t, err)
	_, err = w.Write(file.Bytes())
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return file.Len(), small.Len()
}
