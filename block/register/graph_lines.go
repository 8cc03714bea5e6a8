package register

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"taillamp/block"
)

// hand is how the line of a kind of train is drawn: by its pattern first, its colour second.
type hand struct {
	words  string
	colour string
	wide   float64
	dash   string
}

func hands() []hand {
	return []hand{
		{"express", "#0b4f8a", 2.8, ""},
		{"stopping", ink, 1.6, ""},
		{"parcels", "#7a4a00", 2, "9 3"},
		{"goods", "#4b1f5e", 2.2, "2.6 2.2"},
		{"light engine", "#2f5d3a", 2, "1.2 4"},
		{"empty stock", "#7a4a00", 1.8, "9 3 2 3"},
	}
}

// handOf draws a train by the signal that describes it.
func handOf(k block.CodeKey) hand {
	key := string(k)
	has := func(parts ...string) bool {
		return slices.ContainsFunc(parts, func(p string) bool { return strings.Contains(key, p) })
	}
	n := 1
	switch {
	case has("freight", "mineral", "goods"):
		n = 3
	case has("empty"):
		n = 5
	case has("light", "engine"):
		n = 4
	case has("parcels"):
		n = 2
	case has("express"):
		n = 0
	}
	return hands()[n]
}

func (h hand) stroke() string {
	dash := ""
	if h.dash != "" {
		dash = fmt.Sprintf(` stroke-dasharray="%s"`, h.dash)
	}
	return fmt.Sprintf(`stroke="%s" stroke-width="%.1f"%s fill="none" stroke-linejoin="round"`, h.colour, h.wide, dash)
}

// drawBooked draws the times that trains were booked at, as a hairline below the worked ones.
func (d *drawing) drawBooked(panel int) {
	var path strings.Builder
	for _, run := range d.Runs {
		var line strings.Builder
		places := 0
		for _, b := range run.Booked {
			place, ok := d.Panels[panel].place(b.Box)
			if !ok {
				continue
			}
			places++
			for _, t := range []time.Time{b.Come, b.Go} {
				if t.IsZero() {
					continue
				}
				pen := "L"
				if line.Len() == 0 {
					pen = "M"
				}
				fmt.Fprintf(&line, "%s%.1f %.1f", pen, d.x(t), d.y(panel, place))
			}
		}
		if places > 1 {
			path.WriteString(line.String())
		}
	}
	if path.Len() > 0 {
		d.put(`<path d="%s" stroke="%s" stroke-width="0.8" fill="none" class="booked"><title>as booked</title></path>`, path.String(), faded)
	}
}

// drawRuns draws every train on a panel, with its number where there is room.
func (d *drawing) drawRuns(panel int, stands map[standing]float64) {
	for n := range d.Runs {
		for _, leg := range d.legs(panel, n, stands) {
			d.drawLeg(&d.Runs[n], leg)
		}
	}
}

// point is a place on the picture; hollow where no one saw the train there and a bell signal gives the time.
type point struct {
	x, y   float64
	hollow bool
}

// legs are the unbroken lines of a train on a panel.
func (d *drawing) legs(panel, n int, stands map[standing]float64) [][]point {
	run := &d.Runs[n]
	var legs [][]point
	var leg []point
	places := 0
	end := func() {
		if places > 1 { // a train that only stood at one place of this panel runs on another
			legs = append(legs, leg)
		}
		leg, places = nil, 0
	}
	for i, s := range run.Stops {
		place, ok := d.Panels[panel].place(s.Box)
		if !ok {
			end()
			continue
		}
		if i > 0 && !d.Panels[panel].has(run.Stops[i-1].Box, s.Box) {
			end()
		}
		places++
		y := d.y(panel, place)
		if s.Come.Known() {
			if !s.Held.IsZero() && len(leg) > 0 {
				short := y + 5
				if leg[len(leg)-1].y < y {
					short = y - 5
				}
				leg = append(leg, point{x: d.x(s.Held), y: short}, point{x: d.x(s.Come.At) - 1, y: short})
			}
			leg = append(leg, point{d.x(s.Come.At), y, !s.Come.Seen})
		}
		if s.Go.Known() && s.Go.At.After(s.Come.At) {
			if by := stands[standing{n, i}]; by != 0 && s.Come.Known() {
				leg = append(leg, point{x: d.x(s.Come.At), y: y + by}, point{x: d.x(s.Go.At), y: y + by})
			}
			leg = append(leg, point{d.x(s.Go.At), y, !s.Go.Seen})
		}
	}
	end()
	return legs
}

// runsOn tells whether a train comes to a stop, or goes on from it, by a panel.
func (d *drawing) runsOn(panel int, stops []Stop, i int) bool {
	p := &d.Panels[panel]
	return i > 0 && p.has(stops[i-1].Box, stops[i].Box) || i+1 < len(stops) && p.has(stops[i].Box, stops[i+1].Box)
}

// standing names a stop of a run.
type standing struct{ run, stop int }

// stands keeps trains that stand at a place at the same time apart: each is drawn a little before the place, on the
// side it came from.
func (d *drawing) stands(panel int) map[standing]float64 {
	type spell struct{ from, till time.Time }
	out := make(map[standing]float64)
	taken := make(map[block.BoxID]map[float64][]spell)
	for n, run := range d.Runs {
		for i, s := range run.Stops {
			here, ok := d.Panels[panel].place(s.Box)
			if !ok || !d.runsOn(panel, run.Stops, i) || !s.Come.Known() || !s.Go.Known() || !s.Go.At.After(s.Come.At) {
				continue
			}
			if taken[s.Box] == nil {
				taken[s.Box] = make(map[float64][]spell)
			}
			side := 1.0
			if i > 0 {
				if before, ok := d.Panels[panel].place(run.Stops[i-1].Box); ok && before.At < here.At {
					side = -1
				}
			}
			by := 0.0
			for overlaps := true; overlaps; {
				overlaps = slices.ContainsFunc(taken[s.Box][by], func(x spell) bool {
					return s.Come.At.Before(x.till) && x.from.Before(s.Go.At)
				})
				if overlaps {
					by += side * standStep
				}
			}
			taken[s.Box][by] = append(taken[s.Box][by], spell{s.Come.At, s.Go.At})
			out[standing{n, i}] = by
		}
	}
	return out
}

func (d *drawing) drawLeg(run *Run, leg []point) {
	var path strings.Builder
	for i, p := range leg {
		pen := "L"
		if i == 0 {
			pen = "M"
		}
		fmt.Fprintf(&path, "%s%.1f %.1f", pen, p.x, p.y)
	}
	h := handOf(run.Key)
	d.put(`<path d="%s" %s class="worked"><title>%s</title></path>`, path.String(), h.stroke(), esc(d.words(run)))
	for _, p := range leg {
		if p.hollow {
			d.put(`<circle cx="%.1f" cy="%.1f" r="2.6" fill="%s" stroke="%s" stroke-width="1.1"/>`, p.x, p.y, paper, h.colour)
		}
	}
	name := run.name()
	d.label(name, leg, false)
	if late := run.Late(len(run.Stops) - 1); late >= time.Minute {
		d.label(fmt.Sprintf("%s +%d", name, int(late.Minutes())), leg, true)
	}
}

func (run *Run) name() string {
	switch {
	case run.Train != "":
		return string(run.Train)
	case run.Class != "":
		return run.Class
	}
	return "?"
}

// words says what train a line is, and where it ran.
func (d *drawing) words(run *Run) string {
	h := handOf(run.Key)
	words := h.words
	if run.Train != "" {
		words = "Train " + string(run.Train) + ", " + words
	}
	if run.Class != "" {
		words += ", class " + run.Class
	}
	for _, s := range run.Stops {
		m := s.Come
		if !m.Known() {
			m = s.Go
		}
		if !m.Known() {
			continue
		}
		words += ", " + string(s.Box) + " " + d.rounding.Full(m.At)
		if s.Come.Known() && s.Go.Known() && s.Go.At.Sub(s.Come.At) >= 30*time.Second {
			words += " to " + d.rounding.Full(s.Go.At)
		}
	}
	return words
}

// Late is by how much a run was behind its times at a stop, by its departure, else its arrival; below zero it was
// before them. Without booked times it is zero.
func (run *Run) Late(stop int) time.Duration {
	if stop < 0 || stop >= len(run.Stops) {
		return 0
	}
	s := run.Stops[stop]
	for _, b := range run.Booked {
		switch {
		case b.Box != s.Box:
		case !b.Go.IsZero() && s.Go.Known():
			return s.Go.At.Sub(b.Go)
		case !b.Come.IsZero() && s.Come.Known():
			return s.Come.At.Sub(b.Come)
		}
	}
	return 0
}

// labelBox is room that a word on the picture has taken.
type labelBox struct{ x, y, wide float64 }

// label writes a train's number beside its line, at its beginning or its end, where no other number stands.
func (d *drawing) label(words string, leg []point, atEnd bool) {
	const high = 13
	wide := float64(len(words))*6.6 + 2
	pts := slices.Clone(leg)
	if atEnd {
		slices.Reverse(pts)
	}
	best, found := labelBox{}, false
	for i := 1; i < len(pts) && !found; i++ {
		a, b := pts[i-1], pts[i]
		if long := math.Hypot(b.x-a.x, b.y-a.y); long < 14 || math.Abs(b.y-a.y) < 12 {
			continue
		}
		for _, share := range []float64{0.12, 0.22, 0.32, 0.42, 0.52, 0.62} {
			c := labelBox{a.x + (b.x-a.x)*share + 4, a.y + (b.y-a.y)*share + 4, wide}
			if !found {
				best = c
			}
			if !slices.ContainsFunc(d.labels, func(o labelBox) bool {
				return c.x < o.x+o.wide && o.x < c.x+c.wide && math.Abs(c.y-o.y) < high
			}) {
				best, found = c, true
				break
			}
		}
	}
	if best.wide == 0 {
		best = labelBox{leg[0].x + 4, leg[0].y - 4, wide}
	}
	d.labels = append(d.labels, best)
	d.put(`<text x="%.1f" y="%.1f" font-size="12" font-weight="700" fill="%s" stroke="%s" stroke-width="3" paint-order="stroke">%s</text>`,
		best.x, best.y, ink, paper, esc(words))
}
