package web

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// besidePage is the books of two neighbours side by side (E7).
type besidePage struct {
	Title, Sitting, A, B string
	AID, BID             block.BoxID
	Apart                string // what is known of their clocks
	Right                bool   // the second's times are put right by it
	May                  bool   // there is something to put right
	Hours                []besideHour
	Pairs                []besidePair // the other pairs of neighbours
}

// besidePair is two boxes whose books may be laid beside each other.
type besidePair struct {
	A, B         block.BoxID
	NameA, NameB string
}

// besideHour are the trains of an hour: a page laid out in parts lets a tablet lay out what is in sight alone.
type besideHour struct {
	Words  string
	Trains []besideTrain
}

// besideTrain is one train in both books.
type besideTrain struct {
	Name, Way string
	Cells     []besideCell
}

// besideCell is one signal in both.
type besideCell struct {
	Name, A, B string // empty: that book has it not
	Lacks      string // the box whose book has it not
}

// beside lays two neighbours' books side by side: /s/evening/beside?a=UL&b=OS, with &right=yes the second's clock put right.
func (s *server) beside(w http.ResponseWriter, r *http.Request) {
	rules := s.live.Rules()
	names := namesOf(rules)
	page := besidePage{Title: s.title, Sitting: s.live.Name(), AID: block.BoxID(r.FormValue("a")), BID: block.BoxID(r.FormValue("b")), Right: r.FormValue("right") == "yes"}
	for _, c := range rules.Circuits() {
		p := besidePair{c.Boxes[0], c.Boxes[1], names[c.Boxes[0]], names[c.Boxes[1]]}
		if !slices.Contains(page.Pairs, p) {
			page.Pairs = append(page.Pairs, p)
		}
	}
	if page.AID == "" && len(page.Pairs) > 0 {
		page.AID, page.BID = page.Pairs[0].A, page.Pairs[0].B
	}
	if !slices.ContainsFunc(page.Pairs, func(p besidePair) bool { return p.A == page.AID && p.B == page.BID }) {
		http.Error(w, "Those two are no neighbours. The line is at /", http.StatusNotFound)
		return
	}
	page.A, page.B = names[page.AID], names[page.BID]
	a := register.NewBook(rules, page.AID, s.live.Header().Began)
	b := register.NewBook(rules, page.BID, s.live.Header().Began)
	for e, err := range s.live.Entries(r.Context()) {
		if err != nil {
			s.unwell(w, err)
			return
		}
		a.Write(e)
		b.Write(e)
	}
	ahead := time.Duration(0)
	if d, ok := register.CompareClocks(register.PairsOf(a, b, true), unitOf(rules)); ok {
		page.Apart = apartWords(d, page.B)
		page.May = d.Ahead.Abs() > d.Within && d.Ahead.Abs() >= clockMatters
		if page.Right && page.May {
			ahead = d.Ahead
		}
	}
	half := a.Rounding()
	write := func(c register.Cell) string {
		if c.Seq == 0 {
			return ""
		}
		return half.Full(c.At)
	}
	for _, x := range register.SideBySide(a, b, ahead) {
		t := besideTrain{Name: trainName(register.Line{Class: x.Class, Code: x.Code, Train: x.Train}), Way: fmt.Sprintf("%s to %s", x.From, x.To)}
		for _, sig := range x.Signals {
			c := besideCell{Name: sig.Name, A: write(sig.A), B: write(sig.B)}
			switch {
			case c.A == "" && c.B != "":
				c.Lacks = page.A
			case c.A != "" && c.B == "":
				c.Lacks = page.B
			}
			t.Cells = append(t.Cells, c)
		}
		hour := x.First().Format("15") + ".00 to " + x.First().Add(time.Hour).Format("15") + ".00"
		if n := len(page.Hours); n == 0 || page.Hours[n-1].Words != hour {
			page.Hours = append(page.Hours, besideHour{Words: hour})
		}
		h := &page.Hours[len(page.Hours)-1]
		h.Trains = append(h.Trains, t)
	}
	s.draw(w, "beside.html", page)
}

// clockMatters is the least difference of two clocks that is worth putting right: what a book is written to.
const clockMatters = 30 * time.Second

// unitOf is what the times of a district's books are written to.
func unitOf(r *block.Rules) time.Duration {
	if r.Layout().Settings.HalfMinutes {
		return 30 * time.Second
	}
	return time.Minute
}

// apartWords say what the books tell of the two clocks.
func apartWords(d register.Apart, second string) string {
	if d.Ahead.Abs() <= d.Within || d.Ahead.Abs() < clockMatters {
		return fmt.Sprintf("By %d signals that both books have, the two clocks agree to within %.0f seconds.", d.Used, max(d.Within, clockMatters/2).Seconds())
	}
	way := "fast"
	if d.Ahead < 0 {
		way = "slow"
	}
	words := fmt.Sprintf("By %d signals that both books have, the clock of %s is %.0f seconds %s, within %.0f.", d.Used, second, d.Ahead.Abs().Seconds(), way, d.Within.Seconds())
	if d.OneWay {
		words += " All of them ran one way: how long a signal took to be booked is in it."
	}
	return words
}
