package register

import (
	"slices"
	"time"

	"taillamp/block"
)

// Why says what a train lost time by.
type Why string

// The causes of a delay, in the order in which they are looked for at any moment of a wait.
const (
	ByFailure Why = "failure" // an instrument of the line ahead was out of order
	ByBlock   Why = "blocked" // the line ahead was blocked back, or its token out for shunting
	ByTrain   Why = "train"   // another train was in the section, or accepted before it
	ByAnswer  Why = "answer"  // it was offered, or attention called, and the box ahead had not answered
	ByOffer   Why = "offer"   // the line ahead was free and nobody had offered it
	ByStock   Why = "stock"   // the train that it is formed of had not come
	ByStart   Why = "start"   // it was accepted and did not go
	ByHome    Why = "home"    // it stood at the home signal, and nothing ahead tells why
	ByRunning Why = "running" // it took longer than booked from box to box
)

// Delay is time that a train lost at one place for one reason.
type Delay struct {
	Run     int // of Graph.Runs
	Train   block.TrainID
	Box     block.BoxID     // where it waited, or to where it ran late
	Section block.SectionID // the line it waited for, or ran late on
	From    time.Time       // the spell in which it was lost, district time
	Till    time.Time
	Lost    time.Duration
	Why     Why
	By      block.BoxID // of an answer or offer: whose it was to give
	Other   int         // the run waited for; -1: none
	Seq     uint64      // the entry of the record that ended it; 0: none
	Led     int         // the delay that led to this one; -1: it is a beginning
	Root    int         // the delay at which that leads back to; itself if it is a beginning
}

// Waits that matter. Less than noticed is nobody's delay: trains are booked to the half minute. A signaller has so long
// to answer before the line's being free is his doing (computation 7.2).
const (
	noticed     = 30 * time.Second
	timeToAct   = 30 * time.Second
	turnRound   = 4 * time.Minute // of stock that forms another train, at the most; common practice, no source
	timeToOffer = time.Minute     // call attention and its answer come before an offer
	stationWork = time.Minute     // at a booked stop, at the least
	runningLate = time.Minute     // a train that is less late than this is to time
)

// Delays finds every spell in which a train lost time against its booking, in order of time, each with its cause, and
// what it leads back to. Trains without booked times have none.
func (g *Graph) Delays() []Delay {
	f := finding{Graph: g, held: g.holders()}
	for n := range g.Runs {
		f.ofRun(n)
	}
	slices.SortStableFunc(f.found, func(a, b Delay) int { return a.From.Compare(b.From) })
	f.roots()
	return f.found
}

// finding is the search for delays.
type finding struct {
	*Graph
	held  map[block.SectionID][]spell
	found []Delay
	of    [][]int // of each run, its delays
}

// spell is a time during which something held a line.
type spell struct {
	from, till time.Time
	accepted   bool // from its acceptance only: it holds who was not accepted before
	why        Why
	run        int
	seq        uint64 // the entry that ended it
}

// holders lists what held each line and when.
func (g *Graph) holders() map[block.SectionID][]spell {
	held := make(map[block.SectionID][]spell)
	for n, run := range g.Runs {
		for _, s := range run.Stops {
			a := s.Ahead
			if s.To == "" || a.Accepted.At.IsZero() || a.Entered.At.IsZero() {
				continue
			}
			out := a.Out.At
			if out.IsZero() {
				out = g.Ended
			}
			held[s.To] = append(held[s.To], spell{a.Accepted.At, a.Entered.At, true, ByTrain, n, a.Entered.Seq},
				spell{a.Entered.At, out, false, ByTrain, n, a.Out.Seq})
		}
	}
	for _, b := range g.Bands {
		switch b.What {
		case Broken:
			held[b.Section] = append(held[b.Section], spell{b.From, b.Till, false, ByFailure, -1, 0})
		case BlockedBack, Shunting:
			held[b.Section] = append(held[b.Section], spell{b.From, b.Till, false, ByBlock, -1, 0})
		}
	}
	return held
}

// ofRun looks along one train for the places where it lost time.
func (f *finding) ofRun(n int) {
	run := &f.Runs[n]
	for i, s := range run.Stops {
		booked, ok := run.bookedAt(s.Box)
		if !ok {
			continue
		}
		if i > 0 {
			f.onTheWay(n, i, booked)
		}
		if s.To == "" || !s.Go.Known() || booked.Go.IsZero() {
			continue
		}
		ready := booked.Go
		if s.Come.Known() {
			ready = s.Come.At
			if !booked.Passes {
				work := stationWork
				if at := booked.Go.Sub(booked.Come); !booked.Come.IsZero() && at < work {
					work = at
				}
				ready = ready.Add(work)
			}
			if booked.Go.After(ready) {
				ready = booked.Go
			}
		}
		if s.Go.At.Sub(ready) >= noticed {
			f.waits(n, i, ready, s.Go.At, ByStart)
		}
	}
}

func (run *Run) bookedAt(box block.BoxID) (Booked, bool) {
	at := slices.IndexFunc(run.Booked, func(b Booked) bool { return b.Box == box })
	if at < 0 {
		return Booked{}, false
	}
	return run.Booked[at], true
}

// onTheWay is time lost between two boxes: at the home signal, or in running.
func (f *finding) onTheWay(n, i int, booked Booked) {
	run := &f.Runs[n]
	from, s := run.Stops[i-1], run.Stops[i]
	before, ok := run.bookedAt(from.Box)
	if !ok || before.Go.IsZero() || booked.Come.IsZero() || !from.Go.Known() || !s.Come.Known() {
		return
	}
	lost := s.Come.At.Sub(from.Go.At) - booked.Come.Sub(before.Go)
	if !s.Held.IsZero() {
		stood := s.Come.At.Sub(s.Held)
		if stood >= noticed {
			f.waits(n, i, s.Held, s.Come.At, ByHome)
		}
		lost -= stood
	}
	lost -= f.againstBooking(run, from, before)
	if lost >= noticed {
		f.found = append(f.found, Delay{Run: n, Train: run.Train, Box: s.Box, Section: s.By, From: from.Go.At, Till: s.Come.At, Lost: lost,
			Why: ByRunning, Other: -1, Seq: s.Come.Seq, Led: -1})
	}
}

// againstBooking is what a train loses on the road because it stopped where it was to pass, or stopped so shortly that
// the book has it passing: a consequence of what stopped it, and no slow running.
func (f *finding) againstBooking(run *Run, from Stop, booked Booked) time.Duration {
	stopped := !from.Held.IsZero() || from.Go.At.After(from.Come.At) && from.Come.Known()
	switch w, ok := f.timetable.Find(run.Train); {
	case booked.Passes && stopped && ok:
		return time.Duration(w.Start+w.Stop) * time.Second
	case !booked.Passes && from.Come.Known() && !stopped:
		return stationWork
	}
	return 0
}

// waits cuts a wait at every moment at which its cause changed. otherwise is the cause if the train was free to go.
func (f *finding) waits(n, i int, from, till time.Time, otherwise Why) {
	run := &f.Runs[n]
	s := run.Stops[i]
	cuts := []time.Time{from, till}
	cut := func(at time.Time) {
		if at.After(from) && at.Before(till) {
			cuts = append(cuts, at)
		}
	}
	for _, h := range f.held[s.To] {
		cut(h.from)
		cut(h.till)
	}
	cut(s.Ahead.Offered.At)
	cut(s.Ahead.Accepted.At)
	stock := f.stockOf(n, i)
	if stock >= 0 {
		cut(f.stockReady(run, stock))
	}
	slices.SortFunc(cuts, time.Time.Compare)
	var parts []Delay
	for k := 1; k < len(cuts); k++ {
		if !cuts[k].After(cuts[k-1]) {
			continue
		}
		d := f.cause(n, i, stock, cuts[k-1], otherwise)
		d.From, d.Till, d.Lost = cuts[k-1], cuts[k], cuts[k].Sub(cuts[k-1])
		parts = joined(parts, d)
	}
	f.found = append(f.found, parts...)
}

// joined adds a part to a wait. The time that it takes people to act when what held the train has gone belongs to that.
func joined(parts []Delay, d Delay) []Delay {
	if len(parts) > 0 {
		last := &parts[len(parts)-1]
		same := last.Why == d.Why && last.Other == d.Other && last.By == d.By
		acts := timeToAct
		if d.Why == ByOffer {
			acts = timeToOffer
		}
		if same || d.acted() && (d.Lost < timeToAct/2 || !last.acted() && d.Lost <= acts) {
			last.Till, last.Lost = d.Till, last.Lost+d.Lost
			return parts
		}
		if last.Lost < timeToAct/2 { // too short to be a cause of its own
			d.From, d.Lost = last.From, d.Lost+last.Lost
			parts[len(parts)-1] = d
			return parts
		}
	}
	return append(parts, d)
}

// acted tells whether people's own time is the cause.
func (d *Delay) acted() bool {
	return d.Why == ByAnswer || d.Why == ByOffer || d.Why == ByStart || d.Why == ByHome
}

// stockOf is the run whose stock forms a train at its first place.
func (f *finding) stockOf(n, i int) int {
	run := &f.Runs[n]
	if i > 0 || len(run.Booked) == 0 || run.Booked[0].Connected == "" {
		return -1
	}
	return slices.IndexFunc(f.Runs, func(r Run) bool { return r.Train == run.Booked[0].Connected })
}

// ended is when a run came to its last place.
func (run *Run) ended() time.Time {
	if len(run.Stops) == 0 {
		return time.Time{}
	}
	return run.Stops[len(run.Stops)-1].Come.At
}

// stockReady is when a train may go whose stock came with another: a turn-round after that, as booked if that is less.
func (f *finding) stockReady(run *Run, stock int) time.Time {
	came := f.Runs[stock]
	turn := turnRound
	if last := len(came.Booked) - 1; last >= 0 && !came.Booked[last].Come.IsZero() {
		turn = max(min(turn, run.Booked[0].Go.Sub(came.Booked[last].Come)), 0)
	}
	return came.ended().Add(turn)
}

// cause is what a train waited for from a moment on.
func (f *finding) cause(n, i, stock int, at time.Time, otherwise Why) Delay {
	run := &f.Runs[n]
	s := run.Stops[i]
	d := Delay{Run: n, Train: run.Train, Box: s.Box, Section: s.To, Why: otherwise, Other: -1, Led: -1, Seq: s.Go.Seq}
	accepted := s.Ahead.Accepted
	if stock >= 0 && at.Before(f.stockReady(run, stock)) {
		d.Why, d.Other, d.Seq = ByStock, stock, f.Runs[stock].Stops[len(f.Runs[stock].Stops)-1].Come.Seq
		return d
	}
	if s.To == "" || !accepted.At.IsZero() && !at.Before(accepted.At) {
		return d
	}
	for _, why := range []Why{ByFailure, ByBlock, ByTrain} {
		for _, h := range f.held[s.To] {
			if h.why == why && h.run != n && !at.Before(h.from) && at.Before(h.till) {
				d.Why, d.Other, d.Seq = why, h.run, h.seq
				return d
			}
		}
	}
	d.Why, d.By, d.Seq = ByOffer, s.Box, s.Ahead.Offered.Seq
	if !s.Ahead.Offered.At.IsZero() && !at.Before(s.Ahead.Offered.At) {
		d.Why, d.By, d.Seq = ByAnswer, f.otherEnd(s.To, s.Box), accepted.Seq
	}
	return d
}

func (g *Graph) otherEnd(id block.SectionID, box block.BoxID) block.BoxID {
	sec, ok := g.rules.Section(id)
	switch {
	case !ok:
		return ""
	case sec.Rear == box:
		return sec.Advance
	}
	return sec.Rear
}
