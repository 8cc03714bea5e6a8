package register

import (
	"slices"
	"time"

	"taillamp/block"
)

// Beside is one train as two neighbours booked it. What one of the books lacks is a zero Cell there.
type Beside struct {
	Train    block.TrainID
	Class    string
	Code     block.Beats
	From, To block.BoxID // of the two: which sent it to which
	Signals  [4]BesideSignal
}

// BesideSignal is one signal about the train in both books: is line clear, its repetition, train entering section and
// train out of section.
type BesideSignal struct {
	Name string
	A, B Cell // in the first and in the second book
}

// SideBySide lays the books of two neighbours beside each other: every train that either sent to the other, in order of the
// first time that a book has of it. ahead is how much the second's clock is ahead of the first's: the second's times are put
// right by it. Entries that were ruled through are not there, and stand as lacking.
func SideBySide(a, b *Book, ahead time.Duration) []Beside {
	var all []Beside
	right := func(c Cell) Cell {
		if c.Seq != 0 {
			c.At = c.At.Add(-ahead)
		}
		return c
	}
	names := [4]string{"Is line clear?", "Line clear", "Entering section", "Out of section"}
	both := func(from, to *Book, fromA bool) {
		came := make(map[uint64]*Row) // by the entry of any signal that both have
		var open []*Row
		for _, r := range to.rows {
			if r.Kind != TrainRow || r.Rear != from.Box {
				continue
			}
			open = append(open, r)
			for _, c := range bothEnds() {
				if r.Has(c.ahead) {
					came[r.Cells[c.ahead].Seq] = r
				}
			}
		}
		add := func(sent, got *Row) {
			x := Beside{From: from.Box, To: to.Box}
			for _, r := range []*Row{sent, got} {
				if r != nil && x.Class == "" {
					x.Train, x.Class, x.Code = r.Train, r.Class, r.Code
				}
			}
			for n, c := range bothEnds() {
				s := BesideSignal{Name: names[n]}
				var rear, ahead Cell
				if sent != nil && sent.Has(c.rear) {
					rear = sent.Cells[c.rear]
				}
				if got != nil && got.Has(c.ahead) {
					ahead = got.Cells[c.ahead]
				}
				if s.A, s.B = rear, ahead; !fromA {
					s.A, s.B = ahead, rear
				}
				s.B = right(s.B)
				x.Signals[n] = s
			}
			all = append(all, x)
		}
		for _, r := range from.rows {
			if r.Kind != TrainRow || r.Ahead != to.Box {
				continue
			}
			var partner *Row
			for _, c := range bothEnds() {
				if r.Has(c.rear) && partner == nil {
					partner = came[r.Cells[c.rear].Seq]
				}
			}
			open = slices.DeleteFunc(open, func(o *Row) bool { return o == partner })
			add(r, partner)
		}
		for _, r := range open {
			add(nil, r)
		}
	}
	both(a, b, true)
	both(b, a, false)
	slices.SortStableFunc(all, func(x, y Beside) int { return x.First().Compare(y.First()) })
	return all
}

// First is the earliest time that either book has of the train.
func (x Beside) First() time.Time {
	var first time.Time
	for _, s := range x.Signals {
		for _, c := range []Cell{s.A, s.B} {
			if c.Seq != 0 && (first.IsZero() || c.At.Before(first)) {
				first = c.At
			}
		}
	}
	return first
}
