package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// happeningKind is how a kind of order comes to pass: on a line, toward the box or from it, that is fit for it, and how it
// goes then; or with now, at once, which tells whether it could. again goes on with one after a break.
type happeningKind struct {
	toMe  bool
	fit   func(m *moment, x *wanted) bool
	plays func(s *script, c *course)
	now   func(w *world, x *wanted) bool
	again func(w *world, c *course)
}

// kindOf is how a kind comes to pass. A kind that does not exist never does.
func kindOf(does block.Place) happeningKind {
	switch does {
	case block.HotBox:
		return happeningKind{fit: (*moment).justGone, plays: (*script).hotBox}
	case block.Divided, block.LampLost:
		return happeningKind{toMe: true, fit: (*moment).comesBy, plays: (*script).comesParted}
	case block.FailedEngine:
		return happeningKind{toMe: true, fit: (*moment).underWay, plays: (*script).failedEngine}
	case block.RunsLate:
		return happeningKind{now: (*world).runsLate}
	case block.TokenFails:
		return happeningKind{now: (*world).tokenFails, again: (*world).mendsInTime}
	case block.FogFalls:
		return happeningKind{now: (*world).fogFalls, again: (*world).fogsignalmen}
	case block.WrongClass, block.OutEarly, block.OutInBlock:
		return happeningKind{now: (*world).neighbourErrs}
	case block.NeedleSticks:
		return happeningKind{now: (*world).needleStuck, again: (*world).mendsInTime}
	}
	return happeningKind{now: func(*world, *wanted) bool { return false }}
}

// timeToTell is how long two boxes take at most over a call, a signal and its answer.
const timeToTell = 45 * time.Second

// justGone picks the train that has gone by the line picked, if the box in advance can still be told of it.
func (m *moment) justGone(*wanted) bool {
	return m.l.Standing == "LINE" && m.l.Shows == block.Occupied && m.inside() && m.t.two && m.t.due.Sub(m.w.now) > timeToTell
}

// underWay picks the train that is on its way to the box by the line picked, and not in sight yet.
func (m *moment) underWay(*wanted) bool {
	return m.l.Standing == "LINE" && m.l.Shows == block.Occupied && m.inside() && m.t.two && m.t.due.Sub(m.w.now) > timeToTell
}

// comesBy picks such a train if its tail will be seen as it goes by or ends its run: not one put aside first. Of vehicles that
// break away the next goods train is meant, unless a train was named.
func (m *moment) comesBy(x *wanted) bool {
	if !m.underWay(x) || x.Does == block.Divided && x.Train == "" && !m.t.Freight {
		return false
	}
	k := m.t.at + 1
	last, call := k == len(m.t.Calls)-1, m.t.Calls[k]
	return last || call.Pass >= 0 || m.w.day(call.Depart).Sub(m.t.due) < longStop
}

// repeatedSince tells whether the box has repeated a signal since a moment.
func (w *world) repeatedSince(box block.BoxID, key block.CodeKey, from time.Time) bool {
	return !w.repeats[saying{box, key}].Before(from) && !w.repeats[saying{box, key}].IsZero()
}

// hotBox is smoke seen from a wagon after the train has passed: 7 to the box in advance, which stops it and has it examined,
// and keeps the other line free until it is told that nothing is foul of it (reference: absolute block, section 7, R59; from
// memory: Regulation 17).
func (s *script) hotBox(c *course) {
	told := func() bool { return s.w.repeatedSince(s.other, "stop-and-examine", c.since) }
	at := s.t.at
	if !told() {
		s.asks("", func() { s.says(s.me, "stop-and-examine") }, patience, func() bool { return told() || !s.stillIn() })
	}
	s.minds()
	if !told() || !s.stillIn() {
		return // nobody has been told, and it runs on
	}
	s.t.halt, s.t.examined = at+1, c.lasts()
	if far := s.w.of[s.other]; !far.absent {
		s.bars = append(s.bars, s.otherWay().Section.ID)
	}
	s.vain = false
	s.until(2*time.Hour, func() bool { return s.t.at > at && !s.w.now.Before(s.t.stands) && !s.t.outside })
	if far := s.w.of[s.other]; !far.absent {
		s.record(block.Event{Do: block.Remark, By: s.other, Words: "train " + string(s.t.Train) + " stopped and examined: hot box, attended to. Nothing foul."})
	}
}

// comesParted is a train that goes by without its tail lamp, because it has lost the lamp, or its last vehicles with it: 4-5
// to the rear and, where it goes on, 9 to the box in advance; the section stays occupied, drivers on the other lines are
// cautioned, until it has been found whole or its rear part has been fetched (reference: absolute block, section 7, R60, R61).
func (s *script) comesParted(c *course) {
	defer s.foundWhole()
	if s.stillIn() {
		if c.Does == block.Divided && s.w.now.Equal(c.since) {
			s.record(block.Event{Do: block.Train, Section: s.l.Section, Where: block.Divides, Train: s.t.Train})
		}
		if s.p.absent {
			s.w.records(s.p, "no tail lamp on train "+string(s.t.Train))
		}
		s.t.late, s.t.lost = s.standing(), s.t.at+1 // in the section ahead it is stopped
		last := len(s.t.Calls) - 1
		s.until(2*time.Hour, func() bool { return !s.stillIn() && (s.t.running || s.t.at == last) })
		s.hushes()
		s.stands(2*time.Hour, func(l block.LineState) bool { return l.Doubt })
	}
	if !s.line().Doubt {
		return
	}
	s.tellsOfLamp(c)
	s.minds()
	s.vain = false
	end := s.w.now.Add(s.w.span(3 * time.Minute))
	if at := c.since.Add(s.w.span(c.lasts())); at.After(end) {
		end = at
	}
	s.pause(end.Sub(s.w.now))
	s.foundWhole()
	if s.on != "" { // the box in advance has the driver's word when he has come
		s.warned = slices.DeleteFunc(s.warned, func(id block.SectionID) bool { return id == s.otherWay().Section.ID })
		s.until(2*time.Hour, s.outAhead)
	}
}

// hushes has nobody call attention on the bells of the box, so that it can tell at once what it will see.
func (s *script) hushes() {
	for _, c := range s.w.shelf(s.me) {
		for _, box := range c.Boxes {
			s.omit(box, func(a *block.Advice) bool { return a.Circuit == c.ID && a.Key == "call-attention" && !a.Answers })
		}
	}
}

// tellsOfLamp has the box tell those on either side, and the drivers of the other lines cautioned from then on. A person is
// waited for.
func (s *script) tellsOfLamp(c *course) {
	on := s.t.running
	has := func(key block.CodeKey) bool { return !s.w.said[saying{s.me, key}].Before(c.since) }
	told := func() bool { return has("no-tail-lamp-rear") && (!on || has("no-tail-lamp-adv")) }
	s.warned = append(s.warned, s.otherWay().Section.ID)
	if on {
		s.on = s.t.way[s.t.at].ID
		s.warned = append(s.warned, s.back(s.t.way[s.t.at]))
	}
	s.asks("", func() {
		both := func(does func(key block.CodeKey)) { // both bells are called at once, lest the one wait for the other
			if !has("no-tail-lamp-rear") {
				does("no-tail-lamp-rear")
			}
			s.ahead(func() {
				if !has("no-tail-lamp-adv") {
					does("no-tail-lamp-adv")
				}
			})
		}
		both(func(block.CodeKey) { s.callsOut() })
		both(s.tellsOnceHeard)
	}, patience, told)
	s.answered(s.me)
	s.ahead(func() { s.answered(s.me) })
}

// callsOut has the box call attention without waiting for the answer.
func (s *script) callsOut() {
	s.busy(s.me)
	s.until(time.Minute, func() bool { return s.free(s.me) })
	if s.sees(s.me).Has != s.me {
		s.rings(s.me, "call-attention", "")
	}
}

// tellsOnceHeard has it ring a code as soon as its call is answered.
func (s *script) tellsOnceHeard(key block.CodeKey) {
	s.until(2*time.Minute, func() bool { return s.sees(s.me).Has == s.me && s.hushed() })
	s.pause(s.between(1, 2))
	s.rings(s.me, key, "")
}

// failedEngine is a train that stands in the section, its engine dead: nothing is assumed of it; after twice its usual time
// the box in rear asks by 6-2, and the drivers of the other line are cautioned; with help, or put right, it goes on
// (reference: absolute block, section 7, R63; from memory: Regulation 14). Where both boxes are worked by persons nobody is
// asked for them.
func (s *script) failedEngine(c *course) {
	usual := s.w.runs(s.t, s.t.way[s.t.at], s.t.Calls[s.t.at+1])
	stands := max(c.lasts(), usual+3*time.Minute)
	left := c.since
	if was := s.w.left[s.l.Section]; was.Before(left) && !was.IsZero() {
		left = was
	}
	s.t.due = s.t.due.Add(max(0, s.w.span(stands)-s.w.now.Sub(c.since)))
	asked := func() bool {
		return !s.w.said[saying{s.me, "unusually-long"}].Before(c.since) || !s.w.said[saying{s.other, "unusually-long"}].Before(c.since)
	}
	due := left.Add(s.w.span(2 * usual))
	s.until(6*time.Hour, func() bool { return !s.w.now.Before(due) || !s.stillIn() })
	for _, box := range []block.BoxID{s.other, s.me} {
		if s.stillIn() && !asked() && !s.w.of[box].absent {
			s.says(box, "unusually-long")
		}
	}
	s.minds()
	s.vain = false
	s.until(6*time.Hour, func() bool { return !s.stillIn() || asked() })
	if s.stillIn() {
		s.warned = append(s.warned, s.otherWay().Section.ID)
	}
	s.until(6*time.Hour, func() bool { return !s.stillIn() })
}

// runsLate has a train be ready later at its first box: the one named, else the next that is to start from there.
func (w *world) runsLate(x *wanted) bool {
	t := w.train(x.Train)
	if p := w.of[x.At]; t == nil && p != nil {
		for _, v := range p.calls {
			if u := v.t; v.k == 0 && len(u.Calls) > 1 && u.at == 0 && !u.running && !u.going {
				t = u
				break
			}
		}
	}
	if t == nil {
		return false
	}
	if c := w.befalls(x, "", t.Train); c != nil {
		w.startsFrom(t)
		w.wakeAll()
		w.isOver(c)
	}
	return true
}
