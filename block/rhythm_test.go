package block

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// rung gives the presses that stand so many seconds apart.
func rung(gaps ...float64) []time.Time {
	at := time.Date(1960, 6, 1, 9, 0, 0, 0, time.UTC)
	presses := []time.Time{at}
	for _, g := range gaps {
		at = at.Add(time.Duration(math.Round(g * 1e9)))
		presses = append(presses, at)
	}
	return presses
}

// The rows and margins are those of the reckoning of 2.3, made apart from this code. A hand that keeps a pause
// well over its gaps is read for sure; one that hardly pauses is doubtful, and the second reading is named.
func TestRowsAreReadWithTheirMargins(t *testing.T) {
	even := func(n int, gap float64) []float64 {
		row := make([]float64, n)
		for i := range row {
			row[i] = gap
		}
		return row
	}
	cases := []struct {
		gaps       []float64
		beats      string
		cold, warm float64
	}{
		{[]float64{.30, .70}, "2-1", 9.91, 12.51},
		{[]float64{.70, .30}, "1-2", 9.91, 12.51},
		{[]float64{.30, .42}, "3", 0.60, 0.25},
		{[]float64{.30, .45}, "2-1", 0.52, 1.07},
		{[]float64{.30, .50}, "2-1", 2.40, 3.33},
		{even(3, .30), "4", 5.41, 5.49},
		{[]float64{.30, .30, .70, .30}, "3-2", 12.56, 12.60},
		{[]float64{.70, .30, .30, .70}, "1-3-1", 13.74, 14.92},
		{[]float64{.2, .2, .2, .2, .45, .2, .2, .2, .2, .5, .2, .2, .2, .2}, "5-5-5", 15.17, 14.35},
		{[]float64{.5, .5, 1.2}, "3-1", 12.42, 10.87},
		{even(5, .6), "6", 6.01, 4.86},
		{[]float64{.25, .31, .27, .33, .24}, "6", 3.26, 3.51},
		{[]float64{.18, .33}, "2-1", 3.49, 0.71},
	}
	known := hand{pace: math.Log(0.30), codes: acquainted}
	for _, c := range cases {
		for _, of := range []struct {
			who    string
			hand   hand
			margin float64
		}{{"stranger", hand{}, c.cold}, {"known hand", known, c.warm}} {
			g := of.hand.read(rung(c.gaps...), nil)
			if g.beats.String() != c.beats || math.Abs(g.margin-of.margin) > 0.0051 {
				t.Errorf("%v by a %s: read %s, margin %.3f; want %s, margin %.2f", c.gaps, of.who, g.beats, g.margin, c.beats, of.margin)
			}
			if doubtful := of.margin < sure; doubtful != (g.or != nil) {
				t.Errorf("%v by a %s: margin %.2f, second reading %q", c.gaps, of.who, g.margin, g.or)
			}
		}
	}
}

// The bounds of what can be one code. Story B3: my rhythm is read as a code whoever I am.
func TestShortestAndLongestCodes(t *testing.T) {
	even := func(beats int) []time.Time {
		gaps := make([]float64, beats-1)
		for i := range gaps {
			gaps[i] = 0.25
		}
		return rung(gaps...)
	}
	cases := []struct {
		name    string
		presses []time.Time
		beats   string
	}{
		{"nothing", nil, ""},
		{"one beat", even(1), "1"},
		{"two beats", even(2), "2"},
		{"two beats far apart", rung(1.2), "2"},
		{"testing", even(16), "16"},
		{"the most there may be", even(20), "20"},
		{"more than there may be", even(30), "20"},
		{"a bounce", rung(.3, .059, .3), "3"},
		{"the shortest gap", rung(.06, .06), "3"},
		{"several fingers at once", rung(.01, .01, .01), "1"},
		{"presses out of order", rung(.3, -.1, .4), "3"},
		{"four groups", rung(.3, .9, .3, .9, .3, .9, .3), "2-2-2-2"},
	}
	for _, c := range cases {
		if got := (hand{}).read(c.presses, nil).beats.String(); got != c.beats {
			t.Errorf("%s: read %q, want %q", c.name, got, c.beats)
		}
	}
	if g := (hand{}).read(even(2), nil); g.margin != certain || g.or != nil {
		t.Errorf("two beats: margin %v, second reading %q; they can be read in one way only", g.margin, g.or)
	}
}

// Morse, an open standard, has spaces of one unit inside a letter, three between letters and seven between words
// (ITU-R M.1677, as quoted in the encyclopaedia article "Morse code"; the Recommendation itself was not read). The
// reader must part letters at any speed, and the quiet must outlast a letter space and not a word space.
func TestMorseSpacing(t *testing.T) {
	for _, unit := range []float64{.12, .2, .3, .4, .5, .6} {
		u := unit
		if got := (hand{}).read(rung(u, 3*u, u, u, 3*u, u), nil).beats.String(); got != "2-3-2" {
			t.Errorf("unit %.2f s: read %s, want 2-3-2", unit, got)
		}
	}
	const unit = 0.3
	var h hand
	for range 10 {
		h = h.after(h.read(rung(unit, 3*unit, unit, unit, 3*unit, unit), nil))
	}
	quiet := h.quiet(nil).Seconds() / unit
	if quiet <= 3 || quiet >= 7 || math.Abs(quiet-5.1) > 0.02 {
		t.Errorf("quiet of %.2f units; want 5.1, between a letter space and a word space", quiet)
	}
}

// What is not in the book is never put right in silence: the book's opinion stands beside it.
func TestBookIsASecondOpinionOnly(t *testing.T) {
	inBook := func(b Beats) bool { return b.String() == "2-1" }
	cases := []struct {
		name      string
		gaps      []float64
		beats, or string
	}{
		{"doubtful, and the book knows the second", []float64{.30, .42}, "3", "2-1"},
		{"in the book and doubtful", []float64{.30, .45}, "2-1", "3"},
		{"in the book and sure", []float64{.30, .70}, "2-1", ""},
		{"sure enough, but the book knows only the second", []float64{.30, .39}, "3", "2-1"},
		{"too sure for the book to be asked", []float64{.30, .31}, "3", ""},
	}
	for _, c := range cases {
		g := hand{}.read(rung(c.gaps...), inBook)
		if g.beats.String() != c.beats || g.or.String() != c.or {
			t.Errorf("%s: read %s or %q, margin %.2f; want %s or %q", c.name, g.beats, g.or, g.margin, c.beats, c.or)
		}
	}
}

func TestCodeCutInTwoByALongPauseIsJoined(t *testing.T) {
	const opening = 6 // presses of 1-5, before the pause
	cases := []struct {
		name  string
		pause float64
		book  string
		joins bool
	}{
		{"neither part has a meaning", 1.9, "1-5-5", true},
		{"the second has one", 1.9, "1-5-5 5", false},
		{"the first has one", 1.9, "1-5-5 1-5", false},
		{"nor has the whole", 1.9, "3-1", false},
		{"the pause is too long", 2.3, "1-5-5", false},
	}
	for _, c := range cases {
		presses := rung(.8, .3, .3, .3, .3, c.pause, .3, .3, .3, .3)
		inBook := func(b Beats) bool { return strings.Contains(" "+c.book+" ", " "+b.String()+" ") }
		g, ok := hand{}.joins(presses[:opening], presses[opening:], inBook)
		if ok != c.joins || ok && g.beats.String() != "1-5-5" {
			t.Errorf("%s: joined %v, %s; want %v", c.name, ok, g.beats, c.joins)
		}
	}
}

// The same hand at a third of the speed is read the same, to the margin. Story B3.
func TestReadingHasNoScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.Float64Range(0.06, 2), 2, most-1).Draw(t, "gaps")
		slow := make([]float64, len(gaps))
		presses := rung(gaps...)
		for i := range gaps {
			slow[i] = 3 * presses[i+1].Sub(presses[i]).Seconds()
		}
		h := hand{pace: math.Log(0.3), codes: acquainted}
		fast := h.read(presses, nil)
		h.pace += math.Log(3)
		same := h.read(rung(slow...), nil)
		if math.Abs(fast.margin-same.margin) > 1e-6 {
			t.Fatalf("margin %v, three times slower %v", fast.margin, same.margin)
		}
		if fast.margin > 1e-6 && !fast.beats.Equal(same.beats) {
			t.Fatalf("read %s, three times slower %s", fast.beats, same.beats)
		}
	})
}

func TestReadingKeepsEveryBeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.Float64Range(0.06, 3), 0, most-1).Draw(t, "gaps")
		var h hand
		if rapid.Bool().Draw(t, "known") {
			h = hand{pace: rapid.Float64Range(-2, 0).Draw(t, "pace"), codes: acquainted}
		}
		g := h.read(rung(gaps...), func(b Beats) bool { return b.Total()%2 == 0 })
		if g.beats.Total() != len(gaps)+1 || len(g.beats) > maxPauses+1 || g.margin < 0 {
			t.Fatalf("%d gaps read as %s, margin %v", len(gaps), g.beats, g.margin)
		}
		if g.or != nil && (g.or.Total() != len(gaps)+1 || g.or.Equal(g.beats)) {
			t.Fatalf("%s, or %s", g.beats, g.or)
		}
		if next := h.after(g); math.IsNaN(next.pace) || math.IsNaN(next.ratio) {
			t.Fatalf("learnt %+v", next)
		}
		if quiet := h.after(g).quiet(rung(gaps...)); quiet < leastQuiet || quiet > utmostQuiet {
			t.Fatalf("quiet of %v", quiet)
		}
	})
}

// A reading costs the beats it gives and nothing else to throw away.
func TestReadingAllocatesItsBeatsOnly(t *testing.T) {
	presses := rung(.2, .2, .2, .2, .45, .2, .2, .2, .2, .5, .2, .2, .2, .2)
	h := hand{pace: math.Log(0.2), codes: acquainted}
	if n := testing.AllocsPerRun(100, func() { h.read(presses, nil) }); n > 1 {
		t.Errorf("%v allocations a reading, want 1", n)
	}
	if n := testing.AllocsPerRun(100, func() { h.quiet(presses) }); n > 0 {
		t.Errorf("%v allocations for the quiet, want none", n)
	}
}

func BenchmarkRead(b *testing.B) {
	for _, code := range []string{"2-1", "5-5-5", "16"} {
		b.Run(code, func(b *testing.B) {
			presses := fingers{gap: .25, pause: 2.5, waver: .1}.ring(mustBeats(code), rand.New(rand.NewPCG(1, 2)))
			h := hand{pace: math.Log(0.25), codes: acquainted}
			b.ReportAllocs()
			for b.Loop() {
				h.read(presses, nil)
			}
		})
	}
}
