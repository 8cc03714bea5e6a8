package sim

import (
	"slices"

	"taillamp/block"
)

// sees is what the box at which a train is sees of it.
func (w *world) sees(t *train, where block.Place, lamp block.Lamp) { w.seesAt(t, t.at, where, lamp) }

func (w *world) seesAt(t *train, k int, where block.Place, lamp block.Lamp) {
	if where == block.Passes || where == block.IsClear {
		if t.clear && k == t.at {
			return
		}
		if k == t.at {
			t.clear = true
		}
	}
	if t.lost == k && lamp == block.LampSeen {
		lamp = block.LampMissing
	}
	if p := w.of[t.Calls[k].Box]; p.absent && (where == block.Passes || where == block.IsClear) && lamp != block.LampMissing &&
		(w.o.Helps == nil || !w.o.Helps(p.Box, block.Advice{Do: block.Train, Where: where})) {
		p.unmarked = append(p.unmarked, tail{t.Train, t.way[k-1].ID, where, lamp})
		return // the person there looks for the tail lamp himself
	}
	w.record(block.Event{Do: block.Train, By: t.Calls[k].Box, Section: t.way[k-1].ID, Where: where, Lamp: lamp, Train: t.Train})
}

// tail is the tail of a train that went by while a person had the box.
type tail struct {
	train   block.TrainID
	section block.SectionID
	where   block.Place
	lamp    block.Lamp
}

// marks has a signaller of the company who takes over a box mark the tails that the person saw and did not mark: he is told
// of them as he is relieved.
func (w *world) marks(p *person) {
	for _, x := range p.unmarked {
		l, ok := w.line(p.Box, x.section)
		still := ok && !l.Out && slices.ContainsFunc(l.Trains, func(s block.Spotted) bool {
			return s.Train == x.train && s.Where != block.Passes && s.Where != block.IsClear
		})
		if still {
			w.record(block.Event{Do: block.Train, By: p.Box, Section: x.section, Where: x.where, Lamp: x.lamp, Train: x.train})
		}
	}
	p.unmarked = nil
}

// signalled notes that the train in a section has been signalled as entering it.
func (w *world) signalled(s block.SectionID) {
	for _, t := range w.trains {
		if t.running && !t.two && t.way[t.at].ID == s {
			t.two = true
			return
		}
	}
}
