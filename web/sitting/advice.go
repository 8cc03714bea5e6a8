package sitting

import (
	"context"

	"taillamp/block"
)

// Advise tells what a right signaller at a seat's box would do now, the most pressing first, and what he sees. Nothing
// is recorded, nothing changes, and nobody else is told. Trains that he is to send on are known where simulated trains
// run; elsewhere only what his bells and needles say. ErrWrongTicket: another has the box.
func (l *Live) Advise(ctx context.Context, s Seat) ([]block.Advice, block.View, error) {
	var advice []block.Advice
	var view block.View
	var refused error
	err := l.run(ctx, func() {
		if d := l.desk(s.Box); d == nil || s.As != Work || d.holder != s.name() {
			refused = ErrWrongTicket
			return
		}
		view = l.rules.View(l.state, s.Box)
		if l.company != nil {
			view = l.company.Mind(s.Box, view)
		}
		view.At = l.now()
		advice = l.rules.Next(view)
	})
	if err == nil {
		err = refused
	}
	return advice, view, err
}
