package sim

import (
	"fmt"

	"taillamp/block"
)

// taken counts the roads of a yard on which a train stands or which are promised to one that has been accepted; lines are
// those by which trains come to it.
func (w *world) taken(p *person) (roads int, lines []block.SectionID) {
	roads = p.here
	for _, id := range p.toMe {
		l, works := w.r.Line(w.state, id)
		if !works {
			continue
		}
		lines = append(lines, id)
		if l.Accepted || l.InSection {
			roads++
		}
	}
	return roads, lines
}

// Waits says in words what a box with roads of its own waits for: a free road before it accepts a train, and what its
// next train stands there for. Nothing of a box on the running line, nor of a train that is on its way out.
func (c *Company) Waits(box block.BoxID) []string {
	w := c.w
	p := w.of[box]
	if p == nil || p.box.Roads == 0 {
		return nil
	}
	var words []string
	if roads, _ := w.taken(p); roads >= p.box.Roads {
		words = append(words, fmt.Sprintf("waits for a free road: all %d are taken or promised, and no train is accepted", p.box.Roads))
	}
	for _, v := range p.calls {
		t := v.t
		if v.k != 0 || t.at != 0 || t.running || t.going || len(t.Calls) < 2 {
			continue
		}
		switch {
		case t.stock != nil && t.stock.arrived.IsZero():
			words = append(words, fmt.Sprintf("no. %s waits for no. %s, of which it is formed", t.Train, t.stock.Train))
		case w.now.Before(t.from):
			words = append(words, fmt.Sprintf("no. %s waits for its time", t.Train))
		case !w.lineClear(t):
			words = append(words, fmt.Sprintf("no. %s waits for the line to be clear to %s", t.Train, w.name(t.Calls[1].Box)))
		default:
			continue
		}
		break // the others come after it
	}
	return words
}

// name is what a box is called.
func (w *world) name(id block.BoxID) string {
	for _, b := range w.r.Layout().Boxes {
		if b.ID == id {
			return b.Name
		}
	}
	return string(id)
}
