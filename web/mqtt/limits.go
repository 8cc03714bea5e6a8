package mqtt

import (
	"time"

	"golang.org/x/time/rate"

	"taillamp/block"
)

// How much an instrument may say, and how long a message may be.
const (
	perSecond    = 20
	atOnce       = 40
	longestSaid  = 2 << 10
	reportsEvery = 10 * time.Second // the same fault of the same instrument stands in the record once in that time
)

// newGate lets through what an instrument may say.
func newGate() *rate.Limiter { return rate.NewLimiter(perSecond, atOnce) }

// newSlowGate lets an instrument come and go.
func newSlowGate() *rate.Limiter { return rate.NewLimiter(1, 5) }

// gates are those of all instruments that may be: so many of each box, and one for all that speak of nothing there is.
type gates struct {
	of      map[block.BoxID]map[string]*rate.Limiter
	nowhere *rate.Limiter
}

func newGates(boxes []block.Box) gates {
	g := gates{of: make(map[block.BoxID]map[string]*rate.Limiter), nowhere: newGate()}
	for _, b := range boxes {
		g.of[b.ID] = make(map[string]*rate.Limiter)
	}
	return g
}

// find is the gate of an instrument. nil: there is no such box, or it has as many instruments as it may have.
func (g *gates) find(box block.BoxID, name string) *rate.Limiter {
	names, ok := g.of[box]
	if !ok {
		return nil
	}
	if names[name] == nil {
		if len(names) >= mostNames {
			return nil
		}
		names[name] = newGate()
	}
	return names[name]
}
