package lesson

import (
	"taillamp/block"
)

// refusing counts obstructions during which a train was offered and rightly met with silence.
type refusing struct {
	nothing
	fouls map[block.SectionID]bool // whether a train was offered meanwhile
}

func (r *refusing) change(f *fold, e block.Event, c block.Change, t *tally) {
	s := c.Signal
	if s == nil {
		return
	}
	_, foul := r.fouls[s.Section]
	switch {
	case !foul:
	case !f.mine(s) && s.Sense == block.Own && s.Did == block.Offered:
		r.fouls[s.Section] = true
	case f.mine(s) && s.Did == block.Accepted:
		t.bad++
		delete(r.fouls, s.Section)
	}
}

// time notes what stands in the way and what is gone: that is no change of an instrument.
func (r *refusing) time(f *fold, t *tally) {
	for _, l := range f.r.Lines(f.state) {
		if l.Section.Advance != f.l.Box {
			continue
		}
		asked, foul := r.fouls[l.Section.ID]
		switch {
		case l.Foul != "" && !foul:
			r.fouls[l.Section.ID] = l.Offered
		case l.Foul == "" && foul:
			if asked {
				t.good++
			}
			delete(r.fouls, l.Section.ID)
		}
	}
}

// roads counts trains accepted into a yard with a road free, and those without.
type roads struct {
	nothing
	here  int
	began bool
}

func (r *roads) change(f *fold, e block.Event, c block.Change, t *tally) {
	if !r.began {
		r.began = true
		for _, w := range f.r.Timetable().Workings {
			if w.From == f.l.Box && w.StockOf == "" {
				r.here++
			}
		}
	}
	box, _ := f.r.Box(f.l.Box)
	switch {
	case c.Signal != nil && f.mine(c.Signal) && c.Signal.Did == block.Accepted && c.Signal.Sense == block.Answer:
		r.here++
		t.add(r.here <= box.Roads)
	case c.Train != nil && c.Train.Where == block.Leaves && e.By == f.l.Box:
		r.here--
	}
}

// restoring counts tokens that the learner put back, or drew.
type restoring struct {
	nothing
	drawn bool
}

func (r *restoring) change(f *fold, e block.Event, c block.Change, t *tally) {
	if c.Token == nil || e.By != f.l.Box || e.Do != block.Token {
		return
	}
	if r.drawn && e.Where == block.Drawn || !r.drawn && e.Where == block.Restored {
		t.good++
	}
}

// loop counts how often two trains stood on a permissive line at a time, both accepted by the learner's box.
type loop struct {
	nothing
	two bool
}

func (p *loop) change(f *fold, _ block.Event, c block.Change, t *tally) {
	if c.Signal == nil || c.Signal.Did != block.Entering || c.Signal.Sense != block.Answer {
		return
	}
	for _, i := range f.r.View(f.state, f.l.Box).Shelf {
		for _, l := range i.Lines {
			if l.Section == c.Signal.Section && l.ToMe && i.Method == "permissive" && l.In >= 2 && !p.two {
				p.two = true
				t.good++
			} else if l.Section == c.Signal.Section && l.In < 2 {
				p.two = false
			}
		}
	}
}

// remarking counts lines that the learner wrote across the page of his book.
type remarking struct{ nothing }

func (r *remarking) event(f *fold, e block.Event, t *tally) {
	if e.Do == block.Remark && !e.ByHand() && f.l.Learners(e.By) {
		t.good++
	}
}
