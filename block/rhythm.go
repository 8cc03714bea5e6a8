package block

import (
	"math"
	"slices"
	"time"
)

// A hand is read from the gaps between its beats, and only from how they compare with one another: people ring at
// any pace between about 150 and 700 milliseconds, and no fixed limit tells a gap inside a group from a pause
// between two groups for all of them. All is reckoned in logarithms of seconds, in which a hand is as uneven at one
// pace as at another ("Variability of timing in expressive piano performance increases with interval duration",
// read in its abstract).

// What is known of hands in general.
const (
	// waver is the standard deviation of one gap. Tapping with a metronome wavers by 5 in the hundred (the tapping
	// experiment at mazurka.org.uk, read); hands without one by 2 to 8 (from memory). The wider allowance serves a
	// learner better and a trained hand hardly worse (computed).
	waver = 0.13

	// coldPace and coldWaver are the usual gap of a hand that nobody knows, 0.33 s, and how far it may be from that.
	// The paces that people choose lie far apart (Frontiers in Psychology 12:677201 and 14:1161052, read in their
	// abstracts), so the allowance is wide.
	coldPace, coldWaver = -1.1086626245216111, 0.45

	// warmWaver is how far a known hand may be from its own usual gap.
	warmWaver = 0.15

	// pauseRatio and ratioWaver are how much longer a pause is than a gap, 2.3 times, and how far one hand may be
	// from that, both as logarithms. Common practice, no source.
	pauseRatio, ratioWaver = 0.83, 0.25
)

const (
	acquainted = 3       // codes after which a hand is known
	habit      = 0.2     // weight of the newest code in what is known of a hand
	sure       = 1.5     // nats: a smaller margin is doubtful
	certain    = 9.0     // nats: the margin of one beat or two, which are read in one way only
	unwritten  = 3.0     // nats: a code that is in no book is one in twenty
	maxPauses  = 3       // no code in any book has more than four groups
	fineness   = 1 << 16 // steps to the nat in which a hand is remembered
)

// bounce is the shortest gap between two beats of one finger. Common practice, no source.
const bounce = 60 * time.Millisecond

// The quiet that ends a code: so many times the usual pause, within bounds.
const (
	overPause   = 1.7
	coldQuiet   = 1500 * time.Millisecond
	leastQuiet  = 800 * time.Millisecond
	utmostQuiet = 2500 * time.Millisecond
)

// hand is what is known of one operator's ringing on one circuit; the zero value is a stranger.
//
// Its figures are rounded, so that a record played again on a machine whose last digits differ gives the same hand.
type hand struct {
	pace   float64 // logarithm of the usual gap inside a group, in seconds
	codes  int     // that taught it
	ratio  float64 // logarithm of the usual pause over that gap
	paused int     // codes that taught it
}

// reading is what a row of presses was read as.
type reading struct {
	beats  Beats
	or     Beats   // what it may have been instead, where the first is doubtful or not in the book
	margin float64 // how much likelier the first is than the next, in nats

	gaps, pauses int     // gaps that were read, and how many of them are pauses between groups
	pace, pause  float64 // mean logarithm of the gaps inside groups, and of the pauses
}

// read gives the likeliest code for a row of presses, oldest first; inBook, if it is not nil, tells which codes
// have a meaning. It serves as well for a code that is still being rung.
//
// The book is a second opinion only and stands in or: correcting a learner's hand in silence would teach nothing.
func (h hand) read(presses []time.Time, inBook func(Beats) bool) reading {
	if len(presses) == 0 {
		return reading{}
	}
	r := measure(presses)
	if r.n < 2 {
		return reading{beats: Beats{uint8(r.n + 1)}, margin: certain, gaps: r.n}
	}
	var nats [maxPauses + 1]float64
	ways := nats[:min(maxPauses, r.n-1)+1]
	for k := range ways {
		ways[k] = h.likelihood(&r, k)
	}
	best, second := likeliest(ways)
	g := reading{beats: r.split(best), margin: ways[best] - ways[second], gaps: r.n, pauses: best}
	g.pace, g.pause = r.means(best)
	if g.margin < sure {
		g.or = r.split(second)
	}
	if inBook != nil && g.margin < unwritten && !inBook(g.beats) {
		if or := r.written(ways, best, inBook); or != nil {
			g.or = or
		}
	}
	return g
}

// likeliest finds the two highest of at least two.
func likeliest(ways []float64) (best, second int) {
	second = 1
	if ways[1] > ways[0] {
		best, second = 1, 0
	}
	for k := 2; k < len(ways); k++ {
		switch {
		case ways[k] > ways[best]:
			best, second = k, best
		case ways[k] > ways[second]:
			second = k
		}
	}
	return best, second
}

// likelihood is the logarithm of the chance that a hand makes these gaps, the k longest of them being pauses, where
// its pace and its pauses are known only within bounds. It is exact for two kinds of gap with logarithms that are
// normally spread, and pays for the choice of which gaps are pauses: without that nearly every third sixteen breaks
// in two (computed).
func (h hand) likelihood(r *row, k int) float64 {
	pace, spread := coldPace, coldWaver
	if h.codes >= acquainted {
		pace, spread = h.pace, warmWaver
	}
	var all, pauses, squares float64
	for i, at := range r.byRank[:r.n] {
		d := r.gap[at] - pace
		if i >= r.n-k {
			d -= h.usualRatio()
			pauses += d
		}
		all += d
		squares += d * d
	}
	const w = 1 / (waver * waver)
	a := float64(r.n)*w + 1/(spread*spread)
	b := float64(k) * w
	c := float64(k)*w + 1/(ratioWaver*ratioWaver)
	det := a*c - b*b
	all, pauses = w*all, w*pauses
	return (c*all*all-2*b*all*pauses+a*pauses*pauses)/(2*det) - w*squares/2 -
		math.Log(det*spread*spread*ratioWaver*ratioWaver)/2 + math.Log(chanceOf(k)/waysToChoose(r.n, k))
}

// chanceOf is how often a code has k pauses, as the codes stand in the books.
func chanceOf(k int) float64 { return [maxPauses + 1]float64{0.30, 0.40, 0.28, 0.02}[k] }

func waysToChoose(n, k int) float64 {
	ways := 1.0
	for i := range k {
		ways = ways * float64(n-i) / float64(i+1)
	}
	return ways
}

// usualRatio is the hand's own once it is known.
func (h hand) usualRatio() float64 {
	if h.paused >= acquainted {
		return h.ratio
	}
	return pauseRatio
}

// after is what is known of the hand once it has rung this too. A doubtful reading teaches nothing, nor does a
// single gap, which may be a beat's or a pause.
func (h hand) after(g reading) hand {
	if g.gaps < 2 || g.margin < sure {
		return h
	}
	h.pace = learn(h.pace, h.codes, g.pace)
	h.codes++
	if g.pauses > 0 {
		h.ratio = learn(h.ratio, h.paused, g.pause-g.pace)
		h.paused++
	}
	return h
}

// learn draws what n codes have taught towards the next: a plain mean at first, a habit that may change later.
func learn(known float64, n int, next float64) float64 {
	known += max(habit, 1/float64(n+1)) * (next - known)
	return math.Round(known*fineness) / fineness
}

// quiet is how long after the last of the presses so far nothing must be heard for the code to be at an end. It
// follows a known hand. A stranger gets a fixed time, and more if the code itself shows that he rings slowly.
func (h hand) quiet(presses []time.Time) time.Duration {
	if h.codes >= acquainted {
		return quietFor(h.pace+h.usualRatio(), leastQuiet)
	}
	r := measure(presses)
	if r.n == 0 {
		return coldQuiet
	}
	return quietFor(r.gap[r.byRank[0]]+pauseRatio, coldQuiet)
}

// quietFor is the quiet after which a pause with that logarithm is no longer waited for, in whole milliseconds.
func quietFor(pause float64, least time.Duration) time.Duration {
	quiet := time.Duration(overPause*1000*math.Exp(pause)) * time.Millisecond
	return min(max(quiet, least), utmostQuiet)
}

// joins tells whether what was taken for two codes of one key was one, cut in two by a pause a little longer than
// the quiet: together they stand in the book and neither does alone.
func (h hand) joins(before, after []time.Time, inBook func(Beats) bool) (reading, bool) {
	if len(before) == 0 || len(after) == 0 {
		return reading{}, false
	}
	pause := after[0].Sub(before[len(before)-1])
	if pause > h.quiet(before)*3/2 || inBook(h.read(before, nil).beats) || inBook(h.read(after, nil).beats) {
		return reading{}, false
	}
	one := h.read(slices.Concat(before, after), inBook)
	return one, inBook(one.beats)
}

// row is the gaps of one code.
type row struct {
	n      int
	gap    [most - 1]float64 // logarithms of seconds, in order of time
	byRank [most - 1]uint8   // places in gap, shortest first; of two equal gaps the later is last
}

// measure takes the gaps between at least one press and the next. A second press within the bounce is dropped, and
// so is everything after the beat that ends a code of itself.
func measure(presses []time.Time) (r row) {
	last := presses[0]
	for _, p := range presses[1:] {
		gap := p.Sub(last)
		if gap < bounce {
			continue
		}
		if r.n == len(r.gap) {
			break
		}
		r.add(math.Log(gap.Seconds()))
		last = p
	}
	return r
}

// add puts a gap at the end of the row and into its rank.
func (r *row) add(x float64) {
	at := r.n
	for ; at > 0 && r.gap[r.byRank[at-1]] > x; at-- {
		r.byRank[at] = r.byRank[at-1]
	}
	r.byRank[at] = uint8(r.n)
	r.gap[r.n] = x
	r.n++
}

// split gives the code that the row is if its k longest gaps are pauses.
func (r *row) split(k int) Beats {
	var pause [most - 1]bool
	for _, at := range r.byRank[r.n-k : r.n] {
		pause[at] = true
	}
	b := make(Beats, 1, k+1)
	b[0] = 1
	for _, p := range pause[:r.n] {
		if p {
			b = append(b, 0)
		}
		b[len(b)-1]++
	}
	return b
}

// written gives the likeliest code of the book that is so near the best that its being in the book outweighs the
// difference; nil if there is none.
func (r *row) written(ways []float64, best int, inBook func(Beats) bool) Beats {
	var found Beats
	least := ways[best] - unwritten
	for k, nats := range ways {
		if nats <= least {
			continue
		}
		if b := r.split(k); inBook(b) {
			found, least = b, nats
		}
	}
	return found
}

// means are the mean logarithms of the gaps inside groups and of the pauses, the k longest gaps being pauses.
func (r *row) means(k int) (pace, pause float64) {
	for i, at := range r.byRank[:r.n] {
		if i < r.n-k {
			pace += r.gap[at] / float64(r.n-k)
			continue
		}
		pause += r.gap[at] / float64(k)
	}
	return pace, pause
}
