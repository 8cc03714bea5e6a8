package sim

import "taillamp/block"

// Bend is a mistake ordered of somebody: it turns an act that he means to do into what he does instead.
type Bend struct {
	Box   block.BoxID
	Rule  block.RuleID
	Times int // how often; then he works right again
	With  func(v block.View, i Intent) (instead []block.Event, bent bool)
}

// bent is what a signaller really does where he means to do i.
func (w *world) bent(p *person, i Intent) []block.Event {
	for n := range w.bends {
		b := &w.bends[n]
		if b.Box != p.Box || b.Times == 0 {
			continue
		}
		if instead, ok := b.With(w.view(p), i); ok {
			b.Times--
			return instead
		}
	}
	return []block.Event{i.Event(p.Box)}
}
