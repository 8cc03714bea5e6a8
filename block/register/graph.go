package register

import (
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// Graph is a sitting as a train graph: when each train was where, as worked and as booked, and how every line was
// signalled meanwhile. All times are the district's, by the right clock, whatever the clocks of the boxes showed.
type Graph struct {
	Title  string
	Began  time.Time // of the sitting, district time
	Ended  time.Time // of the last thing recorded
	Panels []Panel   // the main line first, then each branch
	Runs   []Run     // in order of their first time
	Bands  []Band    // in order of section, then of time

	rules     *block.Rules
	timetable *block.Timetable // as it stood in the end
	rounding  Rounding
}

// Panel is a stretch of line with its places in Down order, drawn as one picture.
type Panel struct{ Places []Place }

// Place is a box on a panel. At is its distance from the panel's first place, in yards.
type Place struct {
	Box  block.BoxID
	Name string
	At   block.Yards
}

// Run is one train over the district.
type Run struct {
	Train  block.TrainID // empty if nobody named it
	Class  string
	Key    block.CodeKey
	Stops  []Stop   // as worked
	Booked []Booked // as booked; empty without times
}

// Stop is a train at a box, whether it stood there or not. What is not known is zero.
type Stop struct {
	Box   block.BoxID
	By    block.SectionID // the line it came by; empty: it started here
	To    block.SectionID // the line it went on by; empty: it ended here
	Held  time.Time       // it was brought to a stand at the home signal
	Come  Moment          // it arrived or passed
	Go    Moment          // it departed, or the same as Come if it passed
	Ahead Asked           // what passed with the box ahead about it
}

// Moment is a time on the graph. Seen: the box saw the train; else the time is that of the bell signal that speaks of it.
type Moment struct {
	At   time.Time
	Seen bool
	Seq  uint64 // the entry of the record behind it
}

// Known tells whether there is a time.
func (m Moment) Known() bool { return !m.At.IsZero() }

// Asked are the signals about a train on one line: is line clear, its repetition, train entering section and train
// out of section.
type Asked struct {
	Offered, Accepted, Entered, Out Cell
}

// Booked is a train at a box by its times.
type Booked struct {
	Box       block.BoxID
	Come, Go  time.Time // equal where it passes; zero where it starts or ends
	Passes    bool
	Connected block.TrainID // the train whose stock forms this one, at its first place
}

// GraphOf draws a sitting that began then from its entries. With an error the graph holds what could be read before it.
func GraphOf(r *block.Rules, began time.Time, entries iter.Seq2[block.Entry, error]) (*Graph, error) {
	clock := ClockOf(r.Layout(), began)
	g := &Graph{Title: r.Layout().Title, Began: clock.At(began), Ended: clock.At(began), Panels: panelsOf(r), rules: r, timetable: r.Timetable(),
		rounding: Rounding(r.Layout().Settings.HalfMinutes)}
	t := tracing{clock: clock, bands: bandsOf(r)}
	for _, x := range r.Layout().Boxes {
		b := NewBook(r, x.ID, began)
		b.fast, b.truly = 0, true
		t.books = append(t.books, b)
	}
	var bad error
	for e, err := range entries {
		if err != nil {
			bad = err
			break
		}
		if e.Mark == "" {
			t.clock = t.clock.After(e)
			t.write(e)
			g.timetable = sequenceAfter(g.timetable, e)
			g.Ended = t.clock.At(e.Event.At)
		}
	}
	g.Runs = t.runs(g.timetable, g.Began)
	g.Bands = t.bands.close(g.Runs, g.Ended)
	return g, bad
}

// tracing is what is followed while the entries pass by.
type tracing struct {
	clock Clock
	books []*Book
	held  []held
	bands *bands
}

// held is a train brought to a stand at a home signal.
type held struct {
	section block.SectionID
	train   block.TrainID
	at      time.Time
}

func (t *tracing) write(e block.Entry) {
	for _, b := range t.books {
		b.Write(e)
	}
	at := t.clock.At(e.Event.At)
	for i := range e.Outcome.Changes {
		c := &e.Outcome.Changes[i]
		if s := c.Train; s != nil && s.Where == block.Stands {
			t.held = append(t.held, held{s.Section, s.Train, at})
		}
		t.bands.change(&e.Event, c, t.clock)
	}
}

// link is what the lines of one train in two neighbours' books have in common.
type link struct {
	section  block.SectionID
	accepted time.Time
}

// runs puts the lines of neighbours' books about the same train together. A train known by name that was put off and
// offered again has more than one run only if it left the district between.
func (t *tracing) runs(timetable *block.Timetable, day time.Time) []Run {
	coming := make(map[link]*Row)
	box := make(map[*Row]block.BoxID)
	for _, b := range t.books {
		for _, row := range b.Rows() {
			if row.Kind != TrainRow || row.Void {
				continue
			}
			box[row] = b.Box
			if row.rear != "" && row.Has(Accepted) {
				coming[link{row.rear, row.Cells[Accepted].At}] = row
			}
		}
	}
	follows := make(map[*Row]*Row)
	led := make(map[*Row]bool)
	for row := range box { // order does not matter: each row is followed by its own next
		if row.ahead == "" || !row.Has(AcceptedAhead) {
			continue
		}
		if next := coming[link{row.ahead, row.Cells[AcceptedAhead].At}]; next != nil {
			follows[row], led[next] = next, true
		}
	}
	var runs []Run
	for _, b := range t.books {
		for _, row := range b.Rows() {
			if box[row] == "" || led[row] {
				continue
			}
			if run, ok := t.run(row, follows, box); ok {
				run.Booked = bookedOf(timetable, run.Train, day)
				runs = append(runs, run)
			}
		}
	}
	slices.SortStableFunc(runs, func(a, b Run) int { return a.first().Compare(b.first()) })
	return runs
}

// run follows one train from book to book. ok is false if it never moved.
func (t *tracing) run(row *Row, follows map[*Row]*Row, box map[*Row]block.BoxID) (run Run, ok bool) {
	for ; row != nil; row = follows[row] {
		if run.Train == "" {
			run.Train = row.Train
		}
		if run.Key == "" || row.Key != "" {
			run.Key, run.Class = row.Key, row.Class
		}
		run.Stops = append(run.Stops, t.stop(box[row], row))
	}
	for _, s := range run.Stops {
		ok = ok || s.Come.Known() || s.Go.Known()
	}
	return run, ok
}

// stop reads one line of a book. Where nobody saw the train, the bells speak: it entered the section ahead as it went,
// and was out of the one in rear when it had come.
func (t *tracing) stop(box block.BoxID, row *Row) Stop {
	s := Stop{Box: box, By: row.rear, To: row.ahead, Ahead: Asked{Offered: row.Cells[OfferedAhead],
		Accepted: row.Cells[AcceptedAhead], Entered: row.Cells[EnteringSent], Out: row.Cells[OutReceived]}}
	seen := func(c Column) Moment { return Moment{At: row.Cells[c].At, Seen: true, Seq: row.Cells[c].Seq} }
	bell := func(c Column) Moment { return Moment{At: row.Cells[c].At, Seq: row.Cells[c].Seq} }
	switch {
	case row.Has(Passed):
		s.Come, s.Go = seen(Passed), seen(Passed)
	case row.Has(Arrived):
		s.Come = seen(Arrived)
	}
	if row.Has(Departed) {
		s.Go = seen(Departed)
	}
	if !s.Go.Known() && row.Has(EnteringSent) {
		s.Go = bell(EnteringSent)
	}
	if row.rear != "" && !s.Come.Known() {
		switch {
		case s.Go.Known():
			s.Come = Moment{At: s.Go.At, Seq: s.Go.Seq}
		case row.Has(OutSent):
			s.Come = bell(OutSent)
		}
	}
	for _, h := range t.held {
		if h.section == row.rear && (h.train == row.Train || h.train == "") && s.Come.Known() && s.Held.IsZero() &&
			!h.at.After(s.Come.At) && s.Come.At.Sub(h.at) < 3*time.Hour && !h.at.Before(row.Cells[Accepted].At) {
			s.Held = h.at
		}
	}
	return s
}

// first is the first time that is known of a run.
func (run *Run) first() time.Time {
	for _, s := range run.Stops {
		for _, m := range []Moment{s.Come, s.Go} {
			if m.Known() {
				return m.At
			}
		}
	}
	return time.Time{}
}

// bookedOf gives the times of a train of the sequence on the day of the sitting.
func bookedOf(t *block.Timetable, train block.TrainID, day time.Time) []Booked {
	w, ok := t.Find(train)
	if !ok || train == "" {
		return nil
	}
	midnight := time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, day.Location())
	at := func(sec int) time.Time {
		if sec < 0 {
			return time.Time{}
		}
		return midnight.Add(time.Duration(sec) * time.Second)
	}
	var calls []Booked
	for i, c := range w.Calls {
		b := Booked{Box: c.Box, Come: at(c.Arrive), Go: at(c.Depart), Passes: c.Pass >= 0 && c.Arrive < 0}
		if c.Pass >= 0 {
			if c.Depart < 0 {
				b.Go = at(c.Pass)
			}
			if c.Arrive < 0 {
				b.Come = at(c.Pass)
			}
		}
		if i == 0 {
			b.Connected = w.StockOf
		}
		calls = append(calls, b)
	}
	return calls
}
