package register

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Mark says how an entry by hand stands to the one that the register wrote itself.
type Mark string

// The marks.
const (
	Right    Mark = "right"
	Missing  Mark = "missing"  // the register has it, the pen has not
	WrongAt  Mark = "wrong"    // another time
	LateBy   Mark = "late"     // the right time, or a wrong one, written long after
	OnlyHand Mark = "only pen" // the pen has it, the register has not
)

// ByHand is one train in both: a line of the register, a line of the pen, or both.
type ByHand struct {
	Own   *Row
	Hand  *HandLine
	Marks [columns][]Mark // none where neither wrote anything
}

// writtenSoon is how long after the signal an entry is still written when it should be: by the district's clock at the
// speed of a real one. Common practice, no source: a register is written as the signals pass.
const writtenSoon = 2 * time.Minute

// BesideHand lays the register that wrote itself beside the one kept by hand. Lines belong together that describe the same
// code on the same page and whose times are the most alike; each has one partner at most. A time is wrong that is more
// than one unit of the book away. What only a touch of the register's own cell fills (arrived, passed, departed) is not
// called wrong where the register was not touched.
func BesideHand(b *Book, h *Hand) []ByHand {
	var own []*Row
	for _, r := range b.Rows() {
		if r.Kind == TrainRow && !r.Void {
			own = append(own, r)
		}
	}
	var hand []*HandLine
	for _, l := range h.lines {
		if !l.Void {
			hand = append(hand, l)
		}
	}
	partner := partners(b, own, hand)
	var all []ByHand
	soon := time.Duration(float64(writtenSoon) * b.clock.Speed())
	for _, r := range own {
		x := ByHand{Own: r, Hand: partner[r]}
		for c := range columns {
			x.Marks[c] = b.marks(r, x.Hand, c, soon)
		}
		all = append(all, x)
		hand = slices.DeleteFunc(hand, func(l *HandLine) bool { return l == x.Hand })
	}
	for _, l := range hand { // of no train that the register knows
		x := ByHand{Hand: l}
		for c := range columns {
			if l.Cells[c].Seq != 0 {
				x.Marks[c] = []Mark{OnlyHand}
			}
		}
		all = append(all, x)
	}
	return all
}

func (b *Book) marks(r *Row, l *HandLine, c Column, soon time.Duration) []Mark {
	var pen Penned
	if l != nil {
		pen = l.Cells[c]
	}
	switch {
	case !r.Has(c) && pen.Seq == 0:
		return nil
	case !r.Has(c) && (c == Arrived || c == Passed || c == Departed):
		return nil
	case !r.Has(c):
		return []Mark{OnlyHand}
	case pen.Seq == 0:
		return []Mark{Missing}
	}
	var marks []Mark
	if b.apart(r.Cells[c].At, pen) > b.unit() {
		marks = append(marks, WrongAt)
	}
	if pen.At.Add(b.fast).Sub(r.Cells[c].At) > soon {
		marks = append(marks, LateBy)
	}
	if len(marks) == 0 {
		return []Mark{Right}
	}
	return marks
}

// unit is what this book's times are written to, in half minutes.
func (b *Book) unit() int {
	if b.Rounding() {
		return 1
	}
	return 2
}

const halvesOfDay = 24 * 120

// apart is how many half minutes lie between what the register would write and what the pen wrote, midnight or no.
func (b *Book) apart(at time.Time, pen Penned) int {
	t := b.Rounding().Round(at)
	d := (t.Hour()*120 + t.Minute()*2 + t.Second()/30 - pen.Time + halvesOfDay) % halvesOfDay
	return min(d, halvesOfDay-d)
}

// nearly is how far apart, in half minutes, two times may be that speak for their lines being one train's.
const nearly = 20

// partners pairs lines of the register with lines of the pen, the most alike first.
func partners(b *Book, own []*Row, hand []*HandLine) map[*Row]*HandLine {
	type pair struct {
		r     *Row
		l     *HandLine
		alike int
	}
	var pairs []pair
	for _, r := range own {
		for _, l := range hand {
			if !strings.HasSuffix(r.Page, l.Page) {
				continue
			}
			described := l.Train == r.Code.String() || strings.HasPrefix(l.Train, r.Code.String()+" ")
			alike := 0
			for c := range columns {
				if r.Has(c) && l.Cells[c].Seq != 0 {
					alike += max(0, nearly-b.apart(r.Cells[c].At, l.Cells[c]))
				}
			}
			if r.Train != "" && strings.HasSuffix(l.Train, "no. "+string(r.Train)) {
				alike += 20 * nearly
			} else if described {
				alike += nearly
			}
			if alike > nearly { // the code alone, or one time alone that is not quite the same, is no proof
				pairs = append(pairs, pair{r, l, alike})
			}
		}
	}
	slices.SortStableFunc(pairs, func(x, y pair) int { return cmp.Compare(y.alike, x.alike) })
	of := make(map[*Row]*HandLine)
	taken := make(map[*HandLine]bool)
	for _, p := range pairs {
		if of[p.r] == nil && !taken[p.l] {
			of[p.r], taken[p.l] = p.l, true
		}
	}
	return of
}
