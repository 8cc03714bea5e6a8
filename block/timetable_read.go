package block

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// noTime is the time of a point at which a train does not stop, or does not pass.
const noTime = -1

// The longest sequence that is read.
const (
	maxRows  = 20000
	maxHeads = 60
	maxCell  = 400
)

// ReadTimetable reads the sequence of trains, and their times if there are any, as CSV. Columns are found by their
// headings, in any order; of the trains only train, class, from and to must be there. The error is of type Flaws. What
// could be read comes with it, so that CheckSequence may go on and all flaws come in one run.
//
// With times the order is that in which trains leave their first box; a train without times keeps its place behind
// the one before it in the file. Without times it is that of the file.
func ReadTimetable(trains, times []byte) (*Timetable, error) {
	r := timetableReader{no: make(map[TrainID]int)}
	r.trains(trains)
	if len(times) > 0 {
		r.times(times)
	}
	r.stock()
	t := &Timetable{Workings: r.workings}
	t.sort()
	if len(r.flaws) > 0 {
		return t, r.flaws
	}
	return t, nil
}

type timetableReader struct {
	flaws    Flaws
	workings []Working
	no       map[TrainID]int
	rows     []int // of each working, for messages
}

// sheet is one CSV file, its cells found by heading.
type sheet struct {
	r     *timetableReader
	heads []string
	row   int // of the heading 1
	cells []string
}

var trainHeads = []string{"train", "class", "code", "description", "direction", "from", "to", "max_mph", "start_s", "stop_s",
	"freight", "length_yd", "load", "stock_of", "note"}

var timeHeads = []string{"train", "seq", "box", "line", "arrive", "pass", "depart", "where", "minimum_s", "run_s", "note"}

// each calls f with every row of a file. The file's own flaws are noted.
func (r *timetableReader) each(name string, text []byte, known, needed []string, f func(*sheet)) {
	in := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(text), "\ufeff")))
	in.FieldsPerRecord = -1
	in.ReuseRecord = true
	s := &sheet{r: r}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			r.notCSV(name, err)
			return
		}
		s.row, _ = in.FieldPos(0)
		if s.heads == nil {
			s.heads = heads(cells)
			if !r.checkHeads(name, s.heads, known, needed) {
				return
			}
			continue
		}
		if s.row > maxRows {
			r.flaws = append(r.flaws, Flaw{File: name, Line: s.row, Field: "row", What: "the file goes on and on", Right: fmt.Sprintf("the most is %d rows", maxRows)})
			return
		}
		s.cells = cells
		if len(cells) > len(s.heads) {
			s.wrong(name, "row", fmt.Sprintf("the row has %d cells", len(cells)), fmt.Sprintf("there are %d columns; put a text with a comma in quotation marks", len(s.heads)))
			continue
		}
		if strings.TrimSpace(strings.Join(cells, "")) != "" {
			f(s)
		}
	}
	if s.heads == nil {
		r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: "headings", What: "the file is empty", Right: "begin it with a row of headings: " + strings.Join(needed, ",")})
	}
}

func heads(cells []string) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = strings.ToLower(strings.TrimSpace(c))
	}
	return out
}

func (r *timetableReader) notCSV(name string, err error) {
	f := Flaw{File: name, Line: 1, Field: "row", What: "this is no CSV: " + err.Error(), Right: "quotation marks stand round a whole cell, and are doubled within it"}
	var p *csv.ParseError
	if errors.As(err, &p) {
		f.Line, f.What = p.Line, "this is no CSV: "+p.Err.Error()
	}
	r.flaws = append(r.flaws, f)
}

func (r *timetableReader) checkHeads(name string, got, known, needed []string) bool {
	if len(got) == 1 && strings.ContainsAny(got[0], ";\t|") {
		r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: "headings", What: "the cells are not divided by commas", Right: "save the sheet as CSV with commas between the cells"})
		return false
	}
	if len(got) > maxHeads {
		r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: "headings", What: fmt.Sprintf("there are %d columns", len(got)), Right: "the columns are " + strings.Join(known, ", ")})
		return false
	}
	ok := true
	for i, h := range got {
		if !slices.Contains(known, h) {
			right := "the columns are " + strings.Join(known, ", ")
			if n := nearest(h, known); n != "" {
				right = "did you mean " + n + "?"
			}
			r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: h, What: "no column is called " + quoted(h), Right: right})
			ok = false
		}
		if slices.Contains(got[:i], h) {
			r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: h, What: "two columns are called " + quoted(h), Right: "leave one out"})
			ok = false
		}
	}
	for _, h := range needed {
		if !slices.Contains(got, h) {
			r.flaws = append(r.flaws, Flaw{File: name, Line: 1, Field: h, What: "there is no column " + h, Right: "the columns " + strings.Join(needed, ", ") + " must be there"})
			ok = false
		}
	}
	return ok
}

func (s *sheet) wrong(name, column, what, right string) {
	s.r.flaws = append(s.r.flaws, Flaw{File: name, Line: s.row, Field: column, What: what, Right: right})
}

func (s *sheet) cell(column string) string {
	i := slices.Index(s.heads, column)
	if i < 0 || i >= len(s.cells) {
		return ""
	}
	return strings.TrimSpace(s.cells[i])
}

func (r *timetableReader) trains(text []byte) {
	const name = "trains"
	r.each(name, text, trainHeads, []string{"train", "class", "from", "to"}, func(s *sheet) {
		w := Working{Train: TrainID(s.cell("train")), Class: s.cell("class"), About: s.cell("description"), Way: s.cell("direction"),
			From: BoxID(s.cell("from")), To: BoxID(s.cell("to")), Load: s.cell("load"), StockOf: TrainID(s.cell("stock_of")), Note: s.cell("note"), row: s.row}
		w.Code = s.beats(name)
		w.MaxMPH = s.number(name, "max_mph")
		w.Start, w.Stop = s.whole(name, "start_s"), s.whole(name, "stop_s")
		w.Length = Yards(s.number(name, "length_yd"))
		w.Freight = s.yesNo(name, "freight")
		s.box(name, "from", w.From)
		s.box(name, "to", w.To)
		if w.Train == "" {
			s.wrong(name, "train", "the train has no number", "write a number or mark of its own, such as 11")
			return
		}
		if i, twice := r.no[w.Train]; twice {
			s.wrong(name, "train", fmt.Sprintf("train %s is in row %d already", w.Train, r.rows[i]), "give each train a number of its own")
			return
		}
		r.no[w.Train] = len(r.workings)
		r.rows = append(r.rows, s.row)
		r.workings = append(r.workings, w)
	})
}

func (s *sheet) beats(name string) Beats {
	text := s.cell("code")
	if text == "" {
		return nil
	}
	b, err := ParseBeats(text)
	if err != nil {
		s.wrong(name, "code", quoted(text)+" is no bell code", "write groups of beats such as 3-1")
	}
	return b
}

func (s *sheet) box(name, column string, id BoxID) {
	if id != "" && !boxForm.MatchString(string(id)) {
		s.wrong(name, column, quoted(string(id))+" is no box", "write initials as in the layout, such as OS")
	}
	if id == "" {
		s.wrong(name, column, "the box is missing", "write initials as in the layout, such as OS")
	}
}

func (s *sheet) number(name, column string) float64 {
	text := s.cell(column)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || n < 0 || math.IsInf(n, 0) || math.IsNaN(n) {
		s.wrong(name, column, quoted(text)+" is no number", "write digits only, such as 55")
		return 0
	}
	return n
}

func (s *sheet) whole(name, column string) int {
	text := s.cell(column)
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		s.wrong(name, column, quoted(text)+" is no number of seconds", "write digits only, such as 45")
		return 0
	}
	return n
}

func (s *sheet) yesNo(name, column string) bool {
	switch text := strings.ToLower(s.cell(column)); text {
	case "yes", "y", "true", "1":
		return true
	case "", "no", "n", "false", "0":
		return false
	default:
		s.wrong(name, column, quoted(text)+" is neither yes nor no", "write yes or no")
		return false
	}
}

func (r *timetableReader) times(text []byte) {
	const name = "times"
	r.each(name, text, timeHeads, []string{"train", "box"}, func(s *sheet) {
		i, ok := r.no[TrainID(s.cell("train"))]
		if !ok {
			s.wrong(name, "train", "no train of the sequence is called "+quoted(s.cell("train")), "use a number from the trains file")
			return
		}
		p := PointTime{Box: BoxID(s.cell("box")), Line: s.cell("line"), Where: s.cell("where"), Note: s.cell("note"), row: s.row}
		s.box(name, "box", p.Box)
		p.Arrive, p.Pass, p.Depart = s.time(name, "arrive"), s.time(name, "pass"), s.time(name, "depart")
		p.Minimum, p.Run = s.whole(name, "minimum_s"), s.whole(name, "run_s")
		if p.Pass != noTime && (p.Arrive != noTime || p.Depart != noTime) {
			s.wrong(name, "pass", "the train both passes and stops here", "give either pass, or arrive and depart")
		}
		w := &r.workings[i]
		if last := w.lastTime(); p.first() != noTime && p.first() < last {
			s.wrong(name, p.firstColumn(), fmt.Sprintf("train %s is here at %s, before it left the point above at %s", w.Train, ClockText(p.first()), ClockText(last)), "times of one train never run backwards")
		}
		if p.Depart != noTime && p.Arrive != noTime && p.Depart < p.Arrive {
			s.wrong(name, "depart", fmt.Sprintf("train %s departs at %s, before it arrives at %s", w.Train, ClockText(p.Depart), ClockText(p.Arrive)), "times of one train never run backwards")
		}
		w.Calls = append(w.Calls, p)
	})
}

// first is the first time at the point, noTime if it has none.
func (p PointTime) first() int {
	for _, t := range []int{p.Arrive, p.Pass, p.Depart} {
		if t != noTime {
			return t
		}
	}
	return noTime
}

func (p PointTime) firstColumn() string {
	switch {
	case p.Arrive != noTime:
		return "arrive"
	case p.Pass != noTime:
		return "pass"
	}
	return "depart"
}

// lastTime is the latest time of the working so far, noTime if it has none.
func (w *Working) lastTime() int {
	last := noTime
	for _, p := range w.Calls {
		last = max(last, p.Arrive, p.Pass, p.Depart)
	}
	return last
}

func (s *sheet) time(name, column string) int {
	text := s.cell(column)
	if text == "" {
		return noTime
	}
	t, ok := parseClock(text)
	if !ok {
		s.wrong(name, column, quoted(text)+" is no time of day", "write 16.04, 16.04½ or 15:36")
		return noTime
	}
	return t
}

// parseClock reads "16.04½", "16.04", "15:36", "15:36:30" as seconds after midnight.
func parseClock(text string) (int, bool) {
	text, half := strings.CutSuffix(text, "½")
	parts := strings.FieldsFunc(text, func(c rune) bool { return c == '.' || c == ':' })
	if len(parts) < 2 || len(parts) > 3 || len(parts) == 3 && half || strings.Count(text, ".")+strings.Count(text, ":") != len(parts)-1 {
		return 0, false
	}
	total := 0
	for i, p := range parts {
		n, err := strconv.Atoi(p)
		if err != nil || n < 0 || len(p) > 2 || p[0] == '+' || i > 0 && (n > 59 || len(p) != 2) || n > 29 {
			if err != nil || i == 0 || n < 0 || n > 59 || len(p) != 2 || p[0] == '+' {
				return 0, false
			}
		}
		total = total*60 + n
	}
	if len(parts) == 2 {
		total *= 60
	}
	if half {
		total += 30
	}
	return total, total < 30*3600
}

// ClockText gives seconds after midnight as a timetable prints them: "16.04½"; seconds that are no half minute as
// "16.04.10".
func ClockText(t int) string {
	text := fmt.Sprintf("%d.%02d", t/3600, t/60%60)
	switch t % 60 {
	case 0:
		return text
	case 30:
		return text + "½"
	}
	return fmt.Sprintf("%s.%02d", text, t%60)
}

// stock checks that the train whose stock forms another is in the sequence.
func (r *timetableReader) stock() {
	for i, w := range r.workings {
		if w.StockOf == "" {
			continue
		}
		if _, ok := r.no[w.StockOf]; !ok && !strings.Contains(string(w.StockOf), " ") {
			r.flaws = append(r.flaws, Flaw{File: "trains", Line: r.rows[i], Field: "stock_of",
				What: fmt.Sprintf("no train of the sequence is called %s", quoted(string(w.StockOf))), Right: "use a number from this file, or words such as banker of 11"})
		}
	}
}

// sort puts the workings in the order in which they leave their first box.
func (t *Timetable) sort() {
	starts := make(map[TrainID]int, len(t.Workings))
	last := noTime
	for _, w := range t.Workings {
		if len(w.Calls) > 0 {
			if s := max(w.Calls[0].Depart, w.Calls[0].Pass); s != noTime {
				last = s
			}
		}
		starts[w.Train] = last
	}
	slices.SortStableFunc(t.Workings, func(a, b Working) int { return cmp.Compare(starts[a.Train], starts[b.Train]) })
}
