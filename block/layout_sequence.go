package block

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// CheckSequence tells whether the sequence of trains fits the layout and its code books: every box, line and bell code
// that it names must be there. Flaws carry "trains" or "times" as their file, as those of ReadTimetable do. Warnings
// are about the layout: a yard with too few roads. Books other than the embedded ones must be given.
func (l *Layout) CheckSequence(t *Timetable, books []*CodeBook) (flaws, warnings Flaws) {
	c := sequenceChecker{Layout: l, joined: l.joins(), books: books}
	for i := range t.Workings {
		c.working(&t.Workings[i])
	}
	if len(c.flaws) == 0 {
		c.roads(t)
	}
	slices.SortStableFunc(c.flaws, func(a, b Flaw) int {
		return cmp.Or(-cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line)) // trains before times
	})
	return c.flaws, c.warnings.sorted()
}

type sequenceChecker struct {
	*Layout
	joined   []join
	books    []*CodeBook
	flaws    Flaws
	warnings Flaws
}

// wrong is a flaw of a row of trains, or of times.
func (c *sequenceChecker) wrong(file string, row int, column, what, right string) {
	c.flaws = append(c.flaws, Flaw{File: file, Line: row, Field: column, What: what, Right: right})
}

func (c *sequenceChecker) has(file string, row int, column string, id BoxID) bool {
	if c.boxNo(id) < len(c.Boxes) {
		return true
	}
	if !boxForm.MatchString(string(id)) {
		return false // said when it was read
	}
	c.wrong(file, row, column, "the layout has no box "+quoted(string(id)), rightWord(string(id), c.boxIDs()))
	return false
}

func (c *sequenceChecker) working(w *Working) {
	from, to := c.has("trains", w.row, "from", w.From), c.has("trains", w.row, "to", w.To)
	if from && to && !c.reaches(w.From, w.To) {
		c.wrong("trains", w.row, "to", fmt.Sprintf("train %s cannot come from %s to %s: no lines lead there", w.Train, w.From, w.To), "name boxes that lines of the layout join, in the direction of the train")
	}
	if from {
		c.signal(w)
	}
	for i := range w.Calls {
		c.call(w, i)
	}
	if n := len(w.Calls); n > 0 {
		c.end(w, &w.Calls[0], w.From, "begins", "from")
		c.end(w, &w.Calls[n-1], w.To, "ends", "to")
	}
}

// end checks that the first and the last point of a train's way are those of the sequence.
func (c *sequenceChecker) end(w *Working, p *PointTime, want BoxID, does, column string) {
	if p.Box != want && c.boxNo(want) < len(c.Boxes) && c.boxNo(p.Box) < len(c.Boxes) {
		c.wrong("times", p.row, "box", fmt.Sprintf("train %s %s at %s, not at %s", w.Train, does, want, p.Box), "its times "+strings.TrimSuffix(does, "s")+" at the box in the column "+column)
	}
}

// signal checks that the train's code, or if it has none its class, is in the book of a line that leaves its first box.
func (c *sequenceChecker) signal(w *Working) {
	var names, classes []string
	for _, b := range c.Between {
		if !slices.Contains(b.Boxes, w.From) {
			continue
		}
		book, err := pickBook(b.Book, c.books)
		if err != nil {
			return // said where the book is named
		}
		if len(w.Code) > 0 && len(book.Find(w.Code, EitherWay)) > 0 {
			return
		}
		for _, code := range book.Codes {
			if code.Train && code.Class != "" && !slices.Contains(classes, code.Class) {
				classes = append(classes, code.Class)
			}
		}
		if !slices.Contains(names, book.Name) {
			names = append(names, book.Name)
		}
	}
	if len(names) == 0 {
		return
	}
	if len(w.Code) > 0 {
		c.wrong("trains", w.row, "code", fmt.Sprintf("nothing in the book %s is rung %s", names[0], w.Code), "write the code of the train's class, as `taillamp codes` lists them")
	} else if w.Class != "" && len(classes) > 0 && !slices.Contains(classes, w.Class) {
		c.wrong("trains", w.row, "class", fmt.Sprintf("the book %s has no class %s", names[0], quoted(w.Class)), rightWord(w.Class, classes)+", or a code")
	}
}

// call checks one point of a train's way.
func (c *sequenceChecker) call(w *Working, i int) {
	p := &w.Calls[i]
	if !c.has("times", p.row, "box", p.Box) {
		return
	}
	if i == 0 {
		return
	}
	before := w.Calls[i-1].Box
	if before == p.Box || c.boxNo(before) == len(c.Boxes) {
		return // it stands there, or the point before has its flaw
	}
	var names []string
	for _, j := range c.joined {
		if j.pairs(before, p.Box) {
			for _, x := range j.Lines {
				if j.leads(x, before) {
					names = append(names, x.Name)
				}
			}
		}
	}
	switch {
	case len(names) == 0:
		c.wrong("times", p.row, "box", fmt.Sprintf("no line leads from %s to %s", before, p.Box), "give every box on the way; only a box that is switched out may be left out")
	case p.Line != "" && !slices.Contains(names, p.Line):
		c.wrong("times", p.row, "line", fmt.Sprintf("no line from %s to %s is called %s", before, p.Box, quoted(p.Line)), rightWord(p.Line, names))
	}
}

// leads tells whether trains leave that box on the line.
func (j *join) leads(x Line, from BoxID) bool {
	return x.Way == "both" || (x.Way == "down") == (j.Boxes[0] == from)
}

// reaches tells whether lines lead from one box to another, over whatever boxes.
func (c *sequenceChecker) reaches(from, to BoxID) bool {
	been := []BoxID{from}
	for n := 0; n < len(been); n++ {
		if been[n] == to {
			return true
		}
		for _, j := range c.joined {
			if !slices.Contains(j.Boxes, been[n]) || slices.Contains(been, j.far(been[n])) {
				continue
			}
			if slices.ContainsFunc(j.Lines, func(x Line) bool { return j.leads(x, been[n]) }) {
				been = append(been, j.far(been[n]))
			}
		}
	}
	return false
}

// roads warns of a yard in which more trains stand at one time than it has roads. A train that is formed of another's
// stock leaves with it; every other that begins there stands there from the start. Where two trains have the same
// time, the one that leaves goes first; trains without times come and go in the order of the sequence.
func (c *sequenceChecker) roads(t *Timetable) {
	for i := range c.Boxes {
		b := &c.Boxes[i]
		if b.Roads == 0 {
			continue
		}
		most, train := c.fullest(t, b.ID)
		if most > b.Roads {
			field := element("box", i) + ".roads"
			c.warnings.add(c.Line(field), field, fmt.Sprintf("%s has %s, and %s stand there when train %s has come", b.ID, countOf(b.Roads, "road"), countOf(most, "train"), train),
				fmt.Sprintf("write roads = %d, or let some trains leave before", most))
		}
	}
}

// move is a train that comes into a yard, or leaves it.
type move struct {
	at    int // seconds after midnight
	in    int // 1 in, -1 out
	train TrainID
}

// fullest is the most trains that stand in a yard at a time, and the train with whose coming they do.
func (c *sequenceChecker) fullest(t *Timetable, yard BoxID) (int, TrainID) {
	var moves []move
	stands, now := 0, 0
	for _, w := range t.Workings {
		if len(w.Calls) > 0 {
			now = max(now, w.lastOf(0))
		}
		if w.From == yard {
			moves = append(moves, move{at: now, in: -1, train: w.Train})
			if !endsAt(t, w.StockOf, yard) {
				stands++
			}
		}
		if w.To == yard {
			at := now
			if last := w.lastTime(); last != noTime {
				at = last
			}
			moves = append(moves, move{at: at, in: 1, train: w.Train})
		}
	}
	if now > 0 { // there are times
		slices.SortStableFunc(moves, func(a, b move) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.in, b.in)) })
	}
	most, with := stands, TrainID("")
	for _, m := range moves {
		stands += m.in
		if stands > most {
			most, with = stands, m.train
		}
	}
	if with == "" && len(moves) > 0 {
		with = moves[0].train
	}
	return most, with
}

// lastOf is when the train leaves a point.
func (w *Working) lastOf(i int) int {
	return max(w.Calls[i].Depart, w.Calls[i].Pass, w.Calls[i].Arrive)
}

// endsAt tells whether a train of the sequence ends at a box.
func endsAt(t *Timetable, train TrainID, box BoxID) bool {
	return slices.ContainsFunc(t.Workings, func(w Working) bool { return w.Train == train && train != "" && w.To == box })
}
