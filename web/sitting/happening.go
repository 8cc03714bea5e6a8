package sitting

import (
	"context"
	"strconv"

	"taillamp/block"
)

// Deal deals a card of the layout's, or of any evening, to the boxes that it names, else to the one chosen: they are told
// what it says, and where simulated signallers are employed it comes to pass on the line. ErrNoSuchBox; block.ErrNoTrain: it
// speaks of a train that is not in the sequence.
func (l *Live) Deal(ctx context.Context, c block.Card, chosen block.BoxID) error {
	return l.owner(ctx, func() error { return l.deals(c, chosen) })
}

func (l *Live) deals(c block.Card, chosen block.BoxID) error {
	to := c.To
	if len(to) == 0 {
		to = []block.BoxID{chosen}
	}
	words := c.Name + ". " + c.Says
	if _, err := l.telling(to, words); err != nil {
		return err
	}
	if h, does := c.Happening(to); does && l.company != nil {
		if err := l.orders(h); err != nil {
			return err
		}
	}
	return l.tells(to, words)
}

// Happen has something come to pass on the line at once. ErrNoCompany: nobody is simulated, so that no train runs that could
// do it.
func (l *Live) Happen(ctx context.Context, h block.Happening) error {
	return l.owner(ctx, func() error {
		if l.company == nil {
			return ErrNoCompany
		}
		return l.orders(h)
	})
}

// NoMore takes back an order that has not come to pass. ErrAsItIs: it is none of those awaited.
func (l *Live) NoMore(ctx context.Context, h block.Happening) error {
	return l.owner(ctx, func() error {
		if l.company == nil {
			return ErrAsItIs
		}
		for _, x := range l.company.Awaited() {
			if x.Does == h.Does && x.At == h.At && x.Train == h.Train {
				e := x.Event()
				e.Off = true
				return l.ownerDoes(e)
			}
		}
		return ErrAsItIs
	})
}

// orders has something come to pass on the line. A special train is one more in the sequence.
func (l *Live) orders(h block.Happening) error {
	if h.Does != block.Special {
		return l.ownerDoes(h.Event())
	}
	e, ok := l.special(h)
	if !ok {
		return block.ErrNoTrain
	}
	return l.ownerDoes(e)
}

// specialReady is how long after its ordering a special train is to leave, in seconds of the district's clock: there is time
// to offer it.
const specialReady = 4 * 60

// special is a train added to the sequence: it runs as the one named, or as the first passenger train from its box does.
func (l *Live) special(h block.Happening) (block.Event, bool) {
	sequence := l.state.Timetable()
	as := h.Train
	for _, w := range sequence.Workings {
		if as == "" && w.From == h.At && !w.Freight && len(w.Calls) > 1 {
			as = w.Train
		}
	}
	if as == "" {
		return block.Event{}, false
	}
	number := ""
	for n := 1; number == ""; n++ {
		number = "S" + strconv.Itoa(n)
		if _, taken := sequence.Find(block.TrainID(number)); taken {
			number = ""
		}
	}
	slot := block.Slot{Behind: as}
	if w, ok := sequence.Find(as); ok && w.Starts() >= 0 {
		slot = block.Slot{At: l.secondOf(specialReady)}
	}
	return block.AddTrain(block.TrainID(number), as, slot), true
}

// secondOf is the district's time so many of its seconds from now, in seconds after midnight, at the full minute.
func (l *Live) secondOf(ahead int) int {
	t := l.District().At(l.now())
	return (t.Hour()*3600 + t.Minute()*60 + t.Second() + ahead) / 60 * 60
}
