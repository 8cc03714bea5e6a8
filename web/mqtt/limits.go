package mqtt

import (
	"time"

	"taillamp/block"
)

// How much an instrument may say, and how long a message may be.
const (
	perSecond    = 20
	atOnce       = 40
	longestSaid  = 2 << 10
	reportsEvery = 10 * time.Second // the same fault of the same instrument stands in the record once in that time
)

// gate lets through what an instrument may say: twenty messages a second, forty at once; or, where it is slow, one a
// second and five at once.
type gate struct {
	slow bool
	left float64
	at   time.Time
}

// pass tells whether one more may pass now.
func (g *gate) pass(now time.Time) bool {
	rate, most := float64(perSecond), float64(atOnce)
	if g.slow {
		rate, most = 1, 5
	}
	if g.at.IsZero() {
		g.left = most
	} else if gone := now.Sub(g.at); gone > 0 {
		g.left = min(most, g.left+gone.Seconds()*rate)
	}
	g.at = now
	if g.left < 1 {
		return false
	}
	g.left--
	return true
}

// gates are those of all instruments that may be: so many of each box, and one for all that speak of nothing there is.
type gates struct {
	of      map[block.BoxID]map[string]*gate
	nowhere gate
}

func newGates(boxes []block.Box) gates {
	g := gates{of: make(map[block.BoxID]map[string]*gate)}
	for _, b := range boxes {
		g.of[b.ID] = make(map[string]*gate)
	}
	return g
}

// find is the gate of an instrument. nil: there is no such box, or it has as many instruments as it may have.
func (g *gates) find(box block.BoxID, name string) *gate {
	names, ok := g.of[box]
	if !ok {
		return nil
	}
	if names[name] == nil {
		if len(names) >= mostNames {
			return nil
		}
		names[name] = new(gate)
	}
	return names[name]
}
