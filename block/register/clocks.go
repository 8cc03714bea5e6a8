package register

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Pair is one bell signal as two neighbours booked it, each by its own clock. What the first book has sent and the
// second received is FromA; else the second sent it.
type Pair struct {
	Sent, Received time.Time
	FromA          bool
}

// ahead is what the pair alone says of how much B's clock is ahead of A's: too much by the time that A's signal took
// to be booked at B, too little by that of B's at A.
func (p Pair) ahead() time.Duration {
	if p.FromA {
		return p.Received.Sub(p.Sent)
	}
	return p.Sent.Sub(p.Received)
}

// Apart is how the clocks of two neighbours differed.
type Apart struct {
	Ahead   time.Duration // B's clock ahead of A's; below zero: behind
	Within  time.Duration // 95 times in 100 the truth lies so near
	Delay   time.Duration // between a signal's booking at one end and at the other
	Drift   time.Duration // by which B's clock gained on A's in an hour; zero if there is too little to tell
	OneWay  bool          // all pairs ran one way: the delay cannot be told from the difference, and is in it
	Used    int           // pairs
	Dropped int           // pairs too far from the rest: a misbooked minute
}

// Bounds of the estimate (computation 6.5).
const (
	farOff     = 90 * time.Second // a pair so far from the middle one is misbooked
	longDelay  = 90 * time.Second // a longer delay, or one below zero, means that the pairs do not belong together
	driftPairs = 20
	driftSpan  = 2 * time.Hour
)

// CompareClocks estimates the difference of two clocks from pairs whose times were written to a unit: 30 s, a minute,
// or 0 for exact ones. The mean of what lies within 90 s of the median is taken each way; half their difference is the
// clocks', half their sum the delay. This is the rule by which computers compare clocks (RFC 5905, section 8). ok is
// false without a pair, or if the pairs cannot be of the same signals.
func CompareClocks(pairs []Pair, unit time.Duration) (a Apart, ok bool) {
	if len(pairs) == 0 {
		return a, false
	}
	var ways [2][]float64 // seconds received after they were sent, A's and B's
	for _, p := range pairs {
		way := 0
		if !p.FromA {
			way = 1
		}
		ways[way] = append(ways[way], p.Received.Sub(p.Sent).Seconds())
	}
	var mean, vary [2]float64
	for w, d := range ways {
		near := nearMiddle(d)
		a.Dropped += len(d) - len(near)
		a.Used += len(near)
		mean[w], vary[w] = meanOf(near, unit)
	}
	if len(ways[0]) == 0 || len(ways[1]) == 0 {
		a.OneWay = true
		a.Ahead, a.Within = seconds(mean[0]-mean[1]), seconds(2*math.Sqrt(vary[0]+vary[1]))
		return a, true
	}
	a.Ahead, a.Delay = seconds((mean[0]-mean[1])/2), seconds((mean[0]+mean[1])/2)
	a.Within = max(seconds(2*math.Sqrt(vary[0]+vary[1])/2), time.Second)
	if a.Delay > longDelay || a.Delay < -unit {
		return a, false
	}
	a.Drift = driftOf(pairs, a)
	return a, true
}

func seconds(s float64) time.Duration {
	return time.Duration(math.Round(s*10)) * 100 * time.Millisecond
}

// nearMiddle is what lies within 90 s of the median.
func nearMiddle(d []float64) []float64 {
	if len(d) == 0 {
		return nil
	}
	middle := medianOf(d)
	return slices.DeleteFunc(slices.Clone(d), func(x float64) bool { return math.Abs(x-middle) > farOff.Seconds() })
}

// medianOf is the middle value; of an even number, the mean of the two in the middle.
func medianOf(d []float64) float64 {
	s := slices.Sorted(slices.Values(d))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// meanOf is the mean, and the variance of it: never less than what the rounding of two times to a unit brings.
func meanOf(d []float64, unit time.Duration) (mean, vary float64) {
	if len(d) == 0 {
		return 0, 0
	}
	for _, x := range d {
		mean += x
	}
	mean /= float64(len(d))
	for _, x := range d {
		vary += (x - mean) * (x - mean)
	}
	vary /= max(float64(len(d)-1), 1)
	rounding := unit.Seconds() * unit.Seconds() / 12 * 2
	return mean, max(vary, rounding) / float64(len(d))
}

// driftOf fits a straight line through many pairs over a long time, by least squares.
func driftOf(pairs []Pair, a Apart) time.Duration {
	first, last := pairs[0].Sent, pairs[0].Sent
	for _, p := range pairs {
		if p.Sent.Before(first) {
			first = p.Sent
		}
		if p.Sent.After(last) {
			last = p.Sent
		}
	}
	if a.Used < driftPairs || last.Sub(first) < driftSpan {
		return 0
	}
	var n, x, y, xx, xy float64
	for _, p := range pairs {
		d := p.ahead() - a.Delay
		if !p.FromA {
			d = p.ahead() + a.Delay
		}
		if (d - a.Ahead).Abs() > farOff {
			continue
		}
		h, s := p.Sent.Sub(first).Hours(), d.Seconds()
		n, x, y, xx, xy = n+1, x+h, y+s, xx+h*h, xy+h*s
	}
	if under := n*xx - x*x; under > 0 {
		return seconds((n*xy - x*y) / under)
	}
	return 0
}

// bothEnds are the columns in which one signal stands in both books: sent in the first, received in the second, or the
// other way about.
func bothEnds() []struct {
	rear, ahead Column // in the book of the box that sends the train, and of the box that receives it
	back        bool   // the box ahead rings it
} {
	return []struct {
		rear, ahead Column
		back        bool
	}{
		{OfferedAhead, OfferedFromRear, false},
		{AcceptedAhead, Accepted, true},
		{EnteringSent, EnteringReceived, false},
		{OutReceived, OutSent, true},
	}
}

// PairsOf finds the signals that two neighbours both booked, in order of time. If written is true, their times are
// taken as they stand on the page, to the minute or half minute; else exactly.
func PairsOf(a, b *Book, written bool) []Pair {
	at := func(x *Book, c Cell) time.Time {
		if written {
			return x.Rounding().Round(c.At)
		}
		return c.At
	}
	var pairs []Pair
	both := func(from, to *Book, fromA bool) { // trains that from sends to to
		came := make(map[uint64]*Row)
		for _, r := range to.rows {
			if r.Kind == TrainRow && r.Has(OfferedFromRear) {
				came[r.Cells[OfferedFromRear].Seq] = r
			}
		}
		for _, r := range from.rows {
			next := came[r.Cells[OfferedAhead].Seq]
			if r.Kind != TrainRow || !r.Has(OfferedAhead) || next == nil || next.rear != r.ahead {
				continue
			}
			for _, c := range bothEnds() {
				if !r.Has(c.rear) || !next.Has(c.ahead) || r.Cells[c.rear].Seq != next.Cells[c.ahead].Seq {
					continue
				}
				sent, received := at(from, r.Cells[c.rear]), at(to, next.Cells[c.ahead])
				p := Pair{Sent: sent, Received: received, FromA: fromA}
				if c.back {
					p = Pair{Sent: received, Received: sent, FromA: !fromA}
				}
				pairs = append(pairs, p)
			}
		}
	}
	both(a, b, true)
	both(b, a, false)
	slices.SortStableFunc(pairs, func(x, y Pair) int {
		return cmp.Or(x.onA().Compare(y.onA()), x.Sent.Compare(y.Sent))
	})
	return pairs
}

// onA is the time in A's book.
func (p Pair) onA() time.Time {
	if p.FromA {
		return p.Sent
	}
	return p.Received
}
