package register

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
)

// Sizes of the drawing, in pixels of its own.
const (
	leftEdge    = 176.0 // the names of places stand before it
	rightEdge   = 64.0
	topEdge     = 92.0 // the heading and the hours stand above it
	panelGap    = 66.0
	panelHeight = 600.0 // of the main line
	leastGap    = 92.0  // a line of few places need not be higher than this from place to place, nor is it lower than …
	leastHeight = 170.0
	leastMinute = 6.0
	leastWidth  = 1100.0 // of the hours: the key needs so much
	bandHeight  = 6.0
	standStep   = 3.5 // between trains that stand at a place at the same time
)

// drawing is a graph with its scales. Times go across, distance down, to scale by yards.
type drawing struct {
	*Graph
	w          strings.Builder
	from, till time.Time
	minute     float64 // pixels
	yard       float64 // pixels
	tops       []float64
	labels     []labelBox
}

// WriteSVG draws the graph as a picture that stands alone and reads in black and white.
func (g *Graph) WriteSVG(w io.Writer) error {
	d := g.draw()
	_, err := io.WriteString(w, d.w.String())
	return err
}

func (g *Graph) draw() *drawing {
	d := &drawing{Graph: g}
	d.scale()
	d.head()
	for i := range g.Panels {
		d.grid(i)
	}
	for i := range g.Panels {
		d.drawBands(i)
	}
	for i := range g.Panels {
		d.drawBooked(i)
	}
	delays := g.Delays()
	for i := range g.Panels {
		stands := d.stands(i)
		d.drawWaits(i, delays, stands)
		d.drawRuns(i, stands)
	}
	d.key()
	d.w.WriteString("</svg>\n")
	return d
}

// scale fits the window to whole ten minutes, and the places to the height.
func (d *drawing) scale() {
	d.from, d.till = d.Began, d.Ended
	for _, run := range d.Runs {
		for _, b := range run.Booked {
			for _, t := range []time.Time{b.Come, b.Go} {
				if !t.IsZero() && t.Before(d.from) && d.from.Sub(t) < time.Hour {
					d.from = t
				}
			}
		}
		for _, s := range run.Stops {
			for _, m := range []Moment{s.Come, s.Go} {
				if m.Known() && m.At.After(d.till) {
					d.till = m.At
				}
			}
		}
	}
	d.from = d.from.Truncate(10 * time.Minute)
	d.till = d.till.Add(10*time.Minute - 1).Truncate(10 * time.Minute)
	if !d.till.After(d.from) {
		d.till = d.from.Add(10 * time.Minute)
	}
	d.minute = math.Max(leastMinute, leastWidth/d.till.Sub(d.from).Minutes())
	y := topEdge
	for i, p := range d.Panels {
		long := float64(p.Places[len(p.Places)-1].At)
		if i == 0 {
			high := math.Max(leastHeight, math.Min(panelHeight, leastGap*2*float64(len(p.Places)-1)))
			d.yard = high / math.Max(long, 1)
		}
		d.tops = append(d.tops, y)
		y += math.Max(long, 1)*d.yard + panelGap
	}
}

// width and height are those of the picture.
func (d *drawing) width() float64 {
	return leftEdge + d.till.Sub(d.from).Minutes()*d.minute + rightEdge
}

func (d *drawing) bottom(panel int) float64 {
	p := d.Panels[panel]
	return d.y(panel, p.Places[len(p.Places)-1])
}

func (d *drawing) height() float64 {
	if len(d.Panels) == 0 {
		return topEdge + 40
	}
	return d.bottom(len(d.Panels)-1) + 92
}

// X is where a moment stands across the picture, in pixels.
func (d *drawing) x(t time.Time) float64 { return leftEdge + t.Sub(d.from).Minutes()*d.minute }

// y is where a place of a panel stands, in pixels from the top.
func (d *drawing) y(panel int, p Place) float64 { return d.tops[panel] + float64(p.At)*d.yard }

func (d *drawing) put(format string, a ...any) { fmt.Fprintf(&d.w, format+"\n", a...) }

// esc makes words safe to stand in the picture.
func esc(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// The colours of paper and ink. Every one of them also differs in lightness: the picture must read without colour.
const (
	paper  = "#fbf6e8"
	ink    = "#1d1d1b"
	faded  = "#6d6a60"
	rule   = "#9c8a5c"
	ruleTn = "#cbb98a"
	hair   = "#e9dfc4"
)

func (d *drawing) head() {
	wide, high := d.width(), d.height()
	d.put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.1f %.1f" width="%.0f" height="%.0f" role="img" `+
		`aria-labelledby="graph-title graph-words" text-rendering="geometricPrecision" font-family="Cabin, 'Gill Sans', 'DejaVu Sans', sans-serif">`, wide, high, wide, high)
	date := d.Began.Format("Monday 2 January 2006")
	d.put(`<title id="graph-title">Train graph, %s, %s</title>`, esc(d.Title), date)
	d.put(`<desc id="graph-words">Time across from %s to %s, distance down to scale. %d trains.</desc>`,
		d.rounding.Full(d.from), d.rounding.Full(d.till), len(d.Runs))
	d.put(`<defs>
<pattern id="graph-back" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="5" height="5" fill="#f2d3c8"/><line x1="0" x2="0" y1="0" y2="5" stroke="#8a2c1c" stroke-width="3"/></pattern>
<pattern id="graph-shunt" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="%[1]s"/><circle cx="2" cy="2" r="1.1" fill="%[2]s"/></pattern>
<pattern id="graph-fail" width="5" height="5" patternUnits="userSpaceOnUse"><rect width="5" height="5" fill="%[1]s"/><path d="M0 0L5 5M5 0L0 5" stroke="%[2]s" stroke-width="1"/></pattern>
</defs>`, paper, ink)
	d.put(`<rect width="%.1f" height="%.1f" fill="%s"/>`, wide, high, paper)
	d.put(`<text x="%.1f" y="34" font-size="20" font-weight="700" letter-spacing="1.4" fill="%s">%s</text>`, leftEdge, ink,
		esc(strings.ToUpper(d.Title)))
	d.put(`<text x="%.1f" y="34" font-size="15" text-anchor="end" fill="%s">%s, as worked</text>`, wide-rightEdge, faded, date)
}

// grid rules a panel: a hair each minute, a thin line each ten, a thick one each hour, and a line for each place.
func (d *drawing) grid(panel int) {
	p := d.Panels[panel]
	top, bottom := d.tops[panel], d.bottom(panel)
	var hairs, tens, hours strings.Builder
	for t, n := d.from, 0; !t.After(d.till); t, n = t.Add(time.Minute), n+1 {
		to := &hairs
		if t.Minute()%10 == 0 {
			to = &tens
			if t.Minute() == 0 {
				to = &hours
			}
			d.hour(t, top, n == 0)
		}
		fmt.Fprintf(to, "M%.1f %.1fV%.1f", d.x(t), top, bottom)
	}
	line := func(path, stroke string, wide float64) {
		if path != "" {
			d.put(`<path d="%s" stroke="%s" stroke-width="%.1f" fill="none"/>`, path, stroke, wide)
		}
	}
	line(hairs.String(), hair, 0.5)
	line(tens.String(), ruleTn, 0.9)
	line(hours.String(), rule, 1.8)
	last := 0.0
	for i, place := range p.Places {
		y := d.y(panel, place)
		d.put(`<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="%s" stroke-width="1"/>`, leftEdge, d.width()-rightEdge, y, y, rule)
		name := y + 5
		if i > 0 && name < last+16 { // places close together keep their names apart
			name = last + 16
		}
		last = name
		d.put(`<text class="place" x="%.1f" y="%.1f" font-size="15" text-anchor="end" fill="%s">%s</text>`, leftEdge-12, name, ink, esc(place.Name))
		if i > 0 {
			before := p.Places[i-1]
			if mid := (d.y(panel, before) + y) / 2; y-d.y(panel, before) > 50 {
				d.put(`<text x="%.1f" y="%.1f" font-size="11.5" text-anchor="end" fill="%s">%.0f yd</text>`, leftEdge-12, mid+4, faded,
					float64(place.At-before.At))
			}
		}
	}
}

// hour writes the time above a panel: the hour in full, between hours the tens.
func (d *drawing) hour(t time.Time, top float64, first bool) {
	words, weight, size := fmt.Sprintf("%d", t.Minute()), "400", 12.5
	if t.Minute() == 0 || first {
		words, size = fmt.Sprintf("%d.%02d", t.Hour(), t.Minute()), 15
		if t.Minute() == 0 {
			weight = "700"
		}
	}
	d.put(`<text x="%.1f" y="%.1f" font-size="%.1f" font-weight="%s" text-anchor="middle" fill="%s">%s</text>`, d.x(t), top-10,
		size, weight, ink, words)
}
