package register

import (
	"fmt"
	"slices"
	"strings"

	"taillamp/block"
)

// drawBands draws how each line stood as a strip at the box in advance, which keeps its needle: Down lines above the
// place, Up lines below it. What is out of the ordinary also takes the whole stretch, and has its own words; the ordinary is
// one shape for a whole line, or an evening of a hundred trains would be too heavy for a tablet.
func (d *drawing) drawBands(panel int) {
	p := &d.Panels[panel]
	lanes := d.lanes(panel)
	type ordinary struct {
		section block.SectionID
		what    Standing
	}
	var order []ordinary
	shapes := make(map[ordinary]*strings.Builder)
	for _, b := range d.Bands {
		sec, ok := d.rules.Section(b.Section)
		if !ok || !p.has(sec.Rear, sec.Advance) {
			continue
		}
		y, ok := lanes[b.Section]
		if !ok {
			continue
		}
		x, wide := d.x(b.From), b.Till.Sub(b.From).Minutes()*d.minute
		if kind := (ordinary{b.Section, b.What}); b.What == IsAccepted || b.What == InSection {
			if shapes[kind] == nil {
				order, shapes[kind] = append(order, kind), new(strings.Builder)
			}
			fmt.Fprintf(shapes[kind], "M%.1f %.1fh%.1fv%.1fh%.1fz", x, y, wide, bandHeight, -wide)
			continue
		}
		words := fmt.Sprintf("%s %s from %s to %s", sec.ID, b.What, d.rounding.Full(b.From), d.rounding.Full(b.Till))
		if b.Train != "" {
			words += ", train " + string(b.Train)
		}
		if b.What == BlockedBack || b.What == Broken {
			from, _ := p.place(sec.Rear)
			to, _ := p.place(sec.Advance)
			top, bottom := d.y(panel, from), d.y(panel, to)
			if top > bottom {
				top, bottom = bottom, top
			}
			d.put(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#c98a78" fill-opacity="0.22" stroke="#8a2c1c" stroke-width="0.8" stroke-dasharray="3 2"/>`,
				x, top, wide, bottom-top)
		}
		d.put(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" %s class="band"><title>%s</title></rect>`, x, y, wide, bandHeight,
			b.What.fill(), esc(words))
	}
	for _, kind := range order {
		d.put(`<path d="%s" %s class="band"><title>%s %s</title></path>`, shapes[kind], kind.what.fill(), esc(string(kind.section)), kind.what)
	}
}

// drawWaits marks where a train lost time at a place, from when to when, and says for what: a bar under its line between
// two upright ends, so that it is seen without colour. Time lost on the road has no place, and no bar.
func (d *drawing) drawWaits(panel int, delays []Delay, stands map[standing]float64) {
	for _, x := range delays {
		run := &d.Runs[x.Run]
		stop := slices.IndexFunc(run.Stops, func(s Stop) bool { return s.Box == x.Box })
		place, ok := d.Panels[panel].place(x.Box)
		if x.Why == ByRunning || stop < 0 || !ok || !d.runsOn(panel, run.Stops, stop) {
			continue
		}
		from, till, y := d.x(x.From), d.x(x.Till), d.y(panel, place)+stands[standing{x.Run, stop}]
		d.put(`<g class="wait"><title>%s</title><rect x="%.1f" y="%.1f" width="%.1f" height="9" fill="#e3a21a" fill-opacity="0.6"/>`+
			`<path d="M%.1f %.1fv13M%.1f %.1fv13" stroke="%s" stroke-width="1.2"/></g>`, esc(d.Tell(x)), from, y-4.5, till-from,
			from, y-6.5, till, y-6.5, ink)
		if words := d.waitWords(x); till-from > 24 {
			d.put(`<text x="%.1f" y="%.1f" font-size="11" font-style="italic" fill="%s" stroke="%s" stroke-width="3" paint-order="stroke">%s</text>`,
				from+2, y-9, ink, paper, esc(words))
			d.labels = append(d.labels, labelBox{from + 2, y - 9, float64(len(words)) * 5.6})
		}
	}
}

// waitWords say shortly what a train waited for.
func (d *drawing) waitWords(x Delay) string {
	if x.Other >= 0 {
		return "for " + d.Runs[x.Other].name()
	}
	switch x.Why {
	case ByAnswer:
		return "for " + string(x.By)
	case ByBlock:
		return "line blocked"
	case ByFailure:
		return "failure"
	}
	return "held"
}

// lanes are where the strip of each line lies. Lines that are never worked at the same time share one.
func (d *drawing) lanes(panel int) map[block.SectionID]float64 {
	p := &d.Panels[panel]
	out := make(map[block.SectionID]float64)
	type side struct {
		box  block.BoxID
		down bool
	}
	order := make(map[side][]string)
	for _, c := range d.rules.Circuits() {
		for _, sec := range c.Sections {
			from, ok := p.place(sec.Rear)
			to, too := p.place(sec.Advance)
			if !ok || !too {
				continue
			}
			s := side{sec.Advance, to.At > from.At}
			n := -1
			for i, line := range order[s] {
				if line == sec.Line {
					n = i
				}
			}
			if n < 0 {
				n = len(order[s])
				order[s] = append(order[s], sec.Line)
			}
			by := float64(n)*(bandHeight+2) + 2
			if s.down {
				by = -by - bandHeight
			}
			out[sec.ID] = d.y(panel, to) + by
		}
	}
	return out
}

// fill is how a strip is drawn: told apart without colour.
func (s Standing) fill() string {
	switch s {
	case IsAccepted:
		return `fill="#fffdf6" stroke="#55584f" stroke-width="0.7"`
	case InSection:
		return `fill="#5f6b66" fill-opacity="0.62"`
	case BlockedBack:
		return `fill="url(#graph-back)" stroke="#8a2c1c" stroke-width="0.7"`
	case Shunting:
		return `fill="url(#graph-shunt)" stroke="#55584f" stroke-width="0.7"`
	}
	return `fill="url(#graph-fail)" stroke="#1d1d1b" stroke-width="0.7"`
}

// key explains the patterns below the last panel.
func (d *drawing) key() {
	y := d.height() - 44
	x := leftEdge
	word := func(text string) {
		d.put(`<text x="%.1f" y="%.1f" font-size="13" fill="%s">%s</text>`, x, y+4, ink, text)
		x += float64(len(text))*6.6 + 26
	}
	for _, h := range hands() {
		d.put(`<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" %s/>`, x, x+38, y, y, h.stroke())
		x += 46
		word(h.words)
	}
	d.put(`<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="%s" stroke-width="0.8"/>`, x, x+38, y, y, faded)
	x += 46
	word("as booked")
	d.put(`<circle cx="%.1f" cy="%.1f" r="2.6" fill="%s" stroke="%s" stroke-width="1.1"/>`, x+3, y, paper, ink)
	x += 14
	word("time by the bell, nobody saw it")
	x, y = leftEdge, y+22
	for _, s := range []Standing{IsAccepted, InSection, BlockedBack, Shunting, Broken} {
		d.put(`<rect x="%.1f" y="%.1f" width="30" height="%.1f" %s/>`, x, y-3, bandHeight+1, s.fill())
		x += 38
		word(string(s))
	}
	d.put(`<rect x="%.1f" y="%.1f" width="30" height="9" fill="#e3a21a" fill-opacity="0.6"/><path d="M%.1f %.1fv13M%.1f %.1fv13" stroke="%s" stroke-width="1.2"/>`,
		x, y-4.5, x, y-6.5, x+30, y-6.5, ink)
	x += 38
	word("waited")
	d.put(`<text x="%.1f" y="%.1f" font-size="13" fill="%s">The strip of a line is at the box in advance: Down above, Up below.</text>`, x, y+4, faded)
}
