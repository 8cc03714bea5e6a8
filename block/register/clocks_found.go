package register

import (
	"math"
	"slices"
	"time"

	"taillamp/block"
)

// FoundClock is what the books of a district tell of one box's clock, as it stood at the end.
type FoundClock struct {
	Box    block.BoxID
	Fast   time.Duration // slow if below zero
	Within time.Duration // 95 times in 100 the truth lies so near
	Since  time.Time     // when it was first seen so, by the neighbour's book; zero: from the beginning
	OneWay bool          // the delay of booking cannot be told from it
}

// A clock that was put wrong, or right, during the evening shows as a step between its pairs. Less than this is no
// step, and so few pairs prove none.
const (
	leastStep  = 45 * time.Second
	leastPairs = 4
)

// ClocksOf compares every pair of neighbours' books and says of each box how wrong its clock was. Bells tell only
// differences; the time that most boxes kept is taken for the right one, and where two boxes stand against each other,
// that of the first.
func ClocksOf(books []*Book, written bool) []FoundClock {
	var all []FoundClock
	done := make(map[block.BoxID]bool)
	for n, b := range books {
		if done[b.Box] {
			continue
		}
		group := clocksFrom(books, n, written)
		if best := rightOne(group); best != b.Box {
			at := slices.IndexFunc(books, func(x *Book) bool { return x.Box == best })
			group = clocksFrom(books, at, written)
		}
		for _, c := range group {
			done[c.Box] = true
		}
		all = append(all, group...)
	}
	slices.SortStableFunc(all, func(x, y FoundClock) int { return placeOf(books, x.Box) - placeOf(books, y.Box) })
	return all
}

func placeOf(books []*Book, box block.BoxID) int {
	return slices.IndexFunc(books, func(x *Book) bool { return x.Box == box })
}

// clocksFrom says how the clock of every box that can be reached from one by pairs stood against that one's. The
// uncertainties of a chain of boxes add as those of independent measures do.
func clocksFrom(books []*Book, from int, written bool) []FoundClock {
	group := []FoundClock{{Box: books[from].Box}}
	for i := 0; i < len(group); i++ {
		near := group[i]
		for _, other := range books {
			if slices.ContainsFunc(group, func(c FoundClock) bool { return c.Box == other.Box }) {
				continue
			}
			apart, since, ok := lastApart(books[placeOf(books, near.Box)], other, written)
			if !ok {
				continue
			}
			group = append(group, FoundClock{Box: other.Box, Fast: near.Fast + apart.Ahead, OneWay: near.OneWay || apart.OneWay,
				Within: seconds(math.Hypot(near.Within.Seconds(), apart.Within.Seconds())), Since: since})
		}
	}
	return group
}

// lastApart compares two neighbours by their pairs since the last step.
func lastApart(a, b *Book, written bool) (apart Apart, since time.Time, ok bool) {
	pairs := PairsOf(a, b, written)
	unit := time.Duration(0)
	if written {
		unit = time.Minute
		if a.Rounding() == Halves {
			unit /= 2
		}
	}
	if at := lastStep(pairs); at > 0 {
		pairs = pairs[at:]
		since = pairs[0].onA()
	}
	apart, ok = CompareClocks(pairs, unit)
	return apart, since, ok
}

// lastStep finds where one clock was last moved against the other. Zero: nowhere.
func lastStep(pairs []Pair) int {
	step := 0
	for {
		at := stepIn(pairs[step:])
		if at == 0 {
			return step
		}
		step += at
	}
}

// stepIn finds the place that parts the pairs so that both sides agree best within themselves, by least squares. It is
// a step only if it stands out: five times what chance would make of the scatter.
func stepIn(pairs []Pair) int {
	if len(pairs) < 2*leastPairs {
		return 0
	}
	values := make([]float64, len(pairs))
	for i, p := range pairs {
		values[i] = p.ahead().Seconds()
	}
	middle := medianOf(values)
	most := 2 * farOff.Seconds()
	var all moments
	for i, v := range values { // one misbooked hour must not look like a step
		values[i] = min(max(v, middle-most), middle+most)
		all.add(values[i])
	}
	best, at := all.squares(), 0
	var left moments
	for i, v := range values[:len(values)-leastPairs] {
		left.add(v)
		right := all.less(left)
		if cost := left.squares() + right.squares(); i+1 >= leastPairs && cost < best {
			best, at = cost, i+1
		}
	}
	if at == 0 {
		return 0
	}
	n, m := float64(at), float64(len(values)-at)
	chance := math.Sqrt(max(best/(n+m-2), 1) * (1/n + 1/m))
	step := math.Abs(medianOf(values[at:]) - medianOf(values[:at]))
	if step < leastStep.Seconds() || step < 5*chance {
		return 0
	}
	return at
}

// moments are the sums from which the scatter of values about their mean follows.
type moments struct{ n, sum, squared float64 }

func (m *moments) add(v float64) { m.n, m.sum, m.squared = m.n+1, m.sum+v, m.squared+v*v }

func (m moments) less(o moments) moments {
	return moments{m.n - o.n, m.sum - o.sum, m.squared - o.squared}
}

func (m moments) squares() float64 { return max(m.squared-m.sum*m.sum/max(m.n, 1), 0) }

// rightOne is the box whose clock most of a group agree with to the quarter minute.
func rightOne(group []FoundClock) block.BoxID {
	best, most := group[0].Box, 0
	for _, n := range group {
		agree := 0
		for _, m := range group {
			if (n.Fast - m.Fast).Abs() <= 15*time.Second {
				agree++
			}
		}
		if agree > most {
			best, most = n.Box, agree
		}
	}
	return best
}
