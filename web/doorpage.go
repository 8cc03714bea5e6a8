package web

import (
	"slices"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// doorPage is the line as somebody who comes in sees it.
type doorPage struct {
	Title, Who, Sitting string
	Stops               []stop
	Simulated           bool // some box is
	Kept                bool // there is a bookcase
}

// stop is one box on the drawing of the line. Column and Row are its place on a wide page; on a narrow one the line runs
// down in the order of the stops.
type stop struct {
	Box         block.BoxID
	Name, Words string
	Column, Row int
	Rails       string // begins, ends, single: how the line looks here
	Spur        bool   // first of a branch, which leaves the line one column before
	Lit, Take   bool
	Simulated   bool // the program works it until somebody takes it
	Look        string
}

// drawDoor draws the line, branches above the main line where they leave it.
func (s *server) drawDoor(door []sitting.Staffing) doorPage {
	l := s.live
	page := doorPage{Title: s.title, Sitting: l.Name(), Kept: s.shelf != nil, Who: "begun " + l.Header().Began.Format("Monday 2 January 2006, 15.04")}
	for _, p := range lineOf(l.Rules()) {
		at := slices.IndexFunc(door, func(d sitting.Staffing) bool { return d.Box == p.Box })
		if at >= 0 {
			p.staff(door[at], l.District())
			page.Simulated = page.Simulated || p.Simulated
		}
		page.Stops = append(page.Stops, p)
	}
	return page
}

// Junction is the column of the box where the branch leaves the line.
func (s stop) Junction() int { return s.Column - 1 }

// staff says who is in a box and whether his ears are proved.
func (s *stop) staff(d sitting.Staffing, clock register.Clock) {
	s.Name, s.Lit, s.Simulated = d.Name, d.OnDuty, d.OnDuty && d.Simulated
	s.Take, s.Look = !d.Taken, "Look in"
	switch {
	case !d.OnDuty && !d.Open:
		s.Words = "switched out, nobody here"
	case !d.OnDuty:
		s.Words = "nobody here"
	case d.Simulated:
		s.Words = "worked by a simulated signaller"
	default:
		s.Words = "on duty since " + register.Halves.Full(clock.At(d.Since)) + ", " + earWords(d.Ears)
		if d.Far {
			s.Words += ", from home"
		}
	}
}

// earWords tells whether a signaller has said that he hears his bells.
func earWords(ears string) string {
	switch ears {
	case "heard":
		return "hears the bells"
	case "not heard":
		return "does not hear the bells"
	}
	return "bells not tried"
}

// lineOf places the boxes of a layout: the main line is the way from the first box to the last, and whatever else
// hangs on it is a branch.
func lineOf(r *block.Rules) []stop {
	boxes := r.Layout().Boxes
	if len(boxes) == 0 {
		return nil
	}
	next := neighboursOf(r.Layout())
	main := wayFrom(next, boxes[0].ID, boxes[len(boxes)-1].ID)
	branches := 0
	placed := make(map[block.BoxID]bool)
	for _, id := range main {
		placed[id] = true
	}
	var stops []stop
	for n, id := range main {
		s := stop{Box: id, Column: n + 1}
		switch n {
		case 0:
			s.Rails = "begins"
		case len(main) - 1:
			s.Rails = "ends"
		}
		stops = append(stops, s)
		column := n + 2
		for from, spur := id, true; ; spur = false {
			at := slices.IndexFunc(next[from], func(b block.BoxID) bool { return !placed[b] })
			if at < 0 {
				break
			}
			if spur {
				branches++
			}
			from = next[from][at]
			placed[from] = true
			stops = append(stops, stop{Box: from, Column: column, Row: branches, Rails: "single", Spur: spur})
			column++
		}
	}
	for i := range stops {
		if stops[i].Row == 0 {
			stops[i].Row = branches + 1
		}
		if stops[i].Rails != "single" {
			continue
		}
		if stops[i].Spur {
			stops[i].Rails += " first"
		}
		if i == len(stops)-1 || stops[i+1].Rails != "single" || stops[i+1].Spur {
			stops[i].Rails += " ends"
		}
	}
	return stops
}

// neighboursOf are the boxes next to each, long sections over a closed box left out.
func neighboursOf(l *block.Layout) map[block.BoxID][]block.BoxID {
	next := make(map[block.BoxID][]block.BoxID)
	for _, b := range l.Between {
		if b.While != "" || len(b.Boxes) != 2 {
			continue
		}
		next[b.Boxes[0]] = append(next[b.Boxes[0]], b.Boxes[1])
		next[b.Boxes[1]] = append(next[b.Boxes[1]], b.Boxes[0])
	}
	return next
}

// wayFrom is the shortest way between two boxes, both included.
func wayFrom(next map[block.BoxID][]block.BoxID, from, to block.BoxID) []block.BoxID {
	before := map[block.BoxID]block.BoxID{from: from}
	for queue := []block.BoxID{from}; len(queue) > 0; queue = queue[1:] {
		for _, b := range next[queue[0]] {
			if _, seen := before[b]; !seen {
				before[b] = queue[0]
				queue = append(queue, b)
			}
		}
	}
	if _, reached := before[to]; !reached {
		return []block.BoxID{from}
	}
	way := []block.BoxID{to}
	for way[0] != from {
		way = append([]block.BoxID{before[way[0]]}, way...)
	}
	return way
}
