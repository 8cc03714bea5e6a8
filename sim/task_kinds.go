package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// taskKind is when the line is fit for a task, a line toward the box being picked, and how it goes.
type taskKind struct {
	fit   func(m *moment) bool
	plays func(s *script)
}

// patience is how long a task waits for what is wanted.
const patience = 10 * time.Minute

// taskOf is how a kind of task goes. A kind that does not exist is never fit.
func taskOf(k TaskKind) taskKind {
	switch k {
	case Crossing:
		return taskKind{(*moment).willOffer, (*script).crossing}
	case ShuntInside:
		return taskKind{(*moment).idle, func(s *script) { s.shunt("block-back-inside", block.Inside) }}
	case ShuntOutside:
		return taskKind{(*moment).idle, func(s *script) { s.shunt("block-back-outside", block.Outside) }}
	case Cancel:
		return taskKind{(*moment).willOffer, (*script).cancelled}
	case Misdescribed:
		return taskKind{(*moment).willOffer, (*script).misdescribed}
	case Warn:
		return taskKind{func(m *moment) bool { return m.willOffer() && m.mayWarn() && m.t.Freight }, (*script).warning}
	case Obstructed:
		return taskKind{(*moment).idle, (*script).obstructed}
	case NoLamp:
		return taskKind{(*moment).unknownTail, (*script).noLamp}
	case Divided:
		return taskKind{(*moment).willOffer, (*script).divides}
	case BellFails:
		return taskKind{(*moment).still, (*script).bellFails}
	}
	return taskKind{func(*moment) bool { return false }, func(*script) {}}
}

// willOffer tells whether the neighbour has called attention to offer a train by the line picked, and picks the train.
func (m *moment) willOffer() bool {
	if m.i.Called != m.i.To || m.l.Standing != "IDLE" || m.l.Shows != block.Blocked || len(m.l.Trains) > 0 || !m.theirs("") {
		return false
	}
	for _, his := range m.w.r.View(m.w.state, m.i.To).Shelf {
		if his.Circuit == m.i.Circuit && slices.ContainsFunc(his.Lines, func(l block.LineView) bool { return l.ToMe && l.Out }) {
			return false // he has a train to give out of section first
		}
	}
	return true
}

// unknownTail tells whether a train is in the section of which nothing is known at the box: one found whole is whole.
func (m *moment) unknownTail() bool { return m.onLine() && !m.t.known }

// sayWhole rings a code from the neighbour and waits as long as it takes for the person to repeat it.
func (s *script) sayWhole(b block.Beats, t block.TrainID) {
	s.calls(s.other)
	s.ring(s.other, b, t)
	s.repeated()
	s.pause(s.between(3, 6))
}

// repeated waits until nothing that the neighbour has rung waits for an answer.
func (s *script) repeated() {
	s.asks("", func() {}, patience, func() bool {
		i := s.sees(s.other)
		return !slices.ContainsFunc(append(i.Waiting, i.Offers...), func(w block.Pending) bool { return w.By == s.other }) && s.hushed()
	})
}

// name is the neighbour's.
func (s *script) name() string { return s.i.Name }

func (s *script) crossing() {
	defer s.frees(s.me)
	s.record(block.Event{Do: block.Foul, By: s.me, Section: s.l.Section, Where: block.Moving})
	s.tells("An engine is crossing within your clearing point. Accept nothing from "+s.name()+" until it is clear.", s.between(50, 75))
}

func (s *script) shunt(key block.CodeKey, where block.Place) {
	side, code := "inside", s.beats(key).String()
	if where == block.Outside {
		side = "outside"
	}
	s.asks("A shunt is to stand "+side+" your home signal. Block back to "+s.name()+" first: call attention, then "+code+".",
		func() { s.acceptsNot(s.me); s.says(s.me, key) }, patience, func() bool { l := s.line(); return l.InsideTold || l.OutTold })
	s.minds()
	defer s.frees(s.me)
	s.record(block.Event{Do: block.Foul, By: s.me, Section: s.l.Section, Where: where})
	s.tells("The shunt stands "+side+" your home signal. Keep the needle at train on line.", s.between(45, 70))
	s.frees(s.me)
	s.asks("The shunt is clear of the line from "+s.name()+". Give obstruction removed: call attention, then "+s.beats("obstruction-removed").String()+".",
		func() {
			s.insists("obstruction-removed", func() bool { l := s.line(); return !l.Inside && !l.Outside })
		}, patience, func() bool { l := s.line(); return !l.Inside && !l.Outside })
}

// insists says a signal again if something else came between it and its answer.
func (s *script) insists(key block.CodeKey, so func() bool) {
	for try := 0; try < 3 && !so(); try++ {
		s.says(s.me, key)
	}
}

func (s *script) cancelled() {
	defer s.releases(s.t)
	s.holds(s.t, 2*patience)
	s.stands(patience, func(l block.LineState) bool { return l.Accepted && l.Shows == block.Clear })
	s.pause(s.between(8, 15))
	s.sayWhole(s.beats("cancelling"), "")
	s.minds()
	s.stands(time.Minute, func(l block.LineState) bool { return !l.Accepted && l.Shows == block.Blocked })
}

func (s *script) misdescribed() {
	defer s.releases(s.t)
	s.holds(s.t, 2*patience)
	s.leavesToTask()
	s.until(patience, func() bool { return s.sees(s.other).Has == s.other && s.hushed() })
	s.pause(s.between(2, 4))
	s.ring(s.other, s.otherClass(s.t.Code), s.t.Train)
	s.stands(patience, func(l block.LineState) bool { return l.Accepted && l.Shows == block.Clear })
	s.pause(s.between(5, 9))
	s.sayWhole(s.beats("wrong-description"), "")
	s.sayWhole(s.t.Code, s.t.Train)
}

// leavesToTask has the neighbour offer nothing of himself on the line picked: the task does it for him.
func (s *script) leavesToTask() {
	sec := s.l.Section
	s.omit(s.other, func(a *block.Advice) bool { return a.Section == sec && a.Pressing() == 3 })
}

func (s *script) warning() {
	defer s.frees(s.me)
	s.record(block.Event{Do: block.Foul, By: s.me, Section: s.l.Section, Where: block.Moving})
	if !s.p.absent {
		s.acceptsNot(s.me)
	}
	s.asks("An engine is shunting within your clearing point, and your card authorises the warning for goods trains. When "+s.name()+
		" offers the goods train, answer "+s.beats("warning").String()+".",
		func() {
			s.stands(patience, func(l block.LineState) bool { return l.Offered })
			s.pause(s.between(3, 6))
			s.warns()
		}, patience, func() bool { return s.line().Warning })
	s.minds()
	s.pause(s.between(10, 20))
}

func (s *script) obstructed() {
	s.rings(s.other, "obstruction-danger", "")
	s.repeated()
	s.tells(s.name()+" has sent obstruction danger: let nothing go toward it.", s.between(40, 60))
	s.sayWhole(s.beats("obstruction-removed"), "")
}

func (s *script) noLamp() {
	defer s.foundWhole()
	s.t.late = s.standing() // in the section ahead the guard has it stopped
	s.losesLamp()
	seen := s.w.now
	rear := func() bool { return !s.w.said[saying{s.me, "no-tail-lamp-rear"}].Before(seen) }
	on := s.t.running
	adv := func() bool { return !on || !s.w.said[saying{s.me, "no-tail-lamp-adv"}].Before(seen) }
	words := "The train went by without its tail lamp. Call " + s.name() + " and send " + s.beats("no-tail-lamp-rear").String()
	if on {
		words += "; call the box in advance and send " + s.beats("no-tail-lamp-adv").String()
	}
	s.asks(words+". Give no train out of section.", func() {
		s.ahead(func() { s.says(s.me, "no-tail-lamp-adv") }) // the train runs toward that box
		s.says(s.me, "no-tail-lamp-rear")
	}, patience, func() bool { return rear() && adv() })
	s.minds()
	s.tells("The guard is looking for the rest of the train.", s.between(30, 50))
}

// standing is how long a train is brought to a stand on its way, by the district's clock.
func (s *script) standing() time.Duration {
	return time.Duration(float64(3*time.Minute) * max(1, s.w.o.Speed))
}

func (s *script) divides() {
	s.t.late, s.t.known = s.standing(), true
	s.until(patience, s.stillIn)
	s.pause(s.between(8, 15))
	s.sayWhole(s.beats("divided"), "")
	s.minds()
	s.tells(s.name()+" has seen the train divided: send nothing on the other line until both parts are found.", s.between(40, 60))
	s.only(s.stillIn())
	s.record(block.Event{Do: block.Train, By: s.me, Section: s.l.Section, Where: block.IsWhole, Train: s.t.Train})
}

func (s *script) bellFails() {
	fault := block.Event{Do: block.Fault, Circuit: s.i.Circuit, Where: block.AtBell}
	s.busy(s.me)
	s.busy(s.other)
	s.record(fault)
	broke := s.w.now
	fault.Off = true
	defer func() {
		if l := s.line(); l.BellDead {
			s.mends(fault)
		}
	}()
	s.asks("The bell to "+s.name()+" is dead, and a man has gone for the lineman. Write it across the page of your book: open the book, and write.",
		func() {
			s.pause(s.between(8, 15))
			s.does(block.Event{Do: block.Remark, By: s.me, Words: "bell to " + s.name() + " failed"})
		}, patience, func() bool { return s.w.wrote[s.me].After(broke) })
	s.pause(s.between(20, 40))
	s.mends(fault)
	s.asks("The bell to "+s.name()+" is mended. Test it: call attention, then "+s.beats("testing").String()+".",
		func() { s.says(s.me, "testing") }, patience, func() bool { return !s.w.said[saying{s.me, "testing"}].Before(broke) && s.hushed() })
	s.repeatedByOther()
}

// repeatedByOther waits until nothing that the box has rung waits for an answer.
func (s *script) repeatedByOther() {
	s.until(2*time.Minute, func() bool {
		return !slices.ContainsFunc(s.sees(s.me).Waiting, func(w block.Pending) bool { return w.By == s.me }) && s.hushed()
	})
}
