package sim

import (
	"taillamp/block"
)

// moment is a signaller before his instruments, about to do something or not. A mistake looks whether it is the moment
// for it, and picks the instrument, line and train that it will be about.
type moment struct {
	w     *world
	p     *person
	v     *block.View
	means *Intent // nil: he has nothing in mind
	i     *block.Instrument
	l     *block.LineView
	t     *train
}

// saying tells whether he means to say something of his own accord on an absolute line that ok approves of: it picks
// instrument and line.
func (m *moment) saying(key block.CodeKey, ok func() bool) bool {
	return m.means != nil && m.means.Key == key && !m.means.Answers && m.at(m.means.Circuit, m.means.Section) && ok()
}

// answering is the same of the answer to a signal.
func (m *moment) answering(key block.CodeKey, ok func() bool) bool {
	return m.means != nil && m.means.Key == key && m.means.Answers && m.at(m.means.Circuit, m.means.Section) && ok()
}

// accepting tells whether he means to accept a train.
func (m *moment) accepting(ok func() bool) bool {
	return m.means != nil && m.means.Answers && m.at(m.means.Circuit, m.means.Section) && m.l != nil && m.l.ToMe &&
		m.l.Standing == "OFF" && m.i.Method == "absolute" && m.offerOf(m.i.To) && ok()
}

// offerOf tells whether what he means to answer is an offer from that box.
func (m *moment) offerOf(box block.BoxID) bool {
	for _, o := range m.i.Offers {
		if o.By == box && o.Beats.Equal(m.means.Beats) {
			return true
		}
	}
	return false
}

// turning tells whether he means to turn a needle to that aspect.
func (m *moment) turning(show block.Aspect, ok func() bool) bool {
	return m.means != nil && m.means.Do == block.Turn && m.means.Show == show && m.of(m.means.Section) && ok()
}

// calling tells whether he means to call attention for a train that he would offer: it picks the train too.
func (m *moment) calling(ok func() bool) bool {
	return m.saying("call-attention", func() bool {
		return m.l != nil && !m.l.ToMe && m.i.Method == "absolute" && m.l.Standing == "IDLE" && m.next() && ok()
	})
}

// offering tells whether he means to offer a train.
func (m *moment) offering(ok func() bool) bool {
	return m.means != nil && m.means.Do == block.Rung && !m.means.Answers && m.means.Train != "" &&
		m.at(m.means.Circuit, m.means.Section) && m.l != nil && !m.l.ToMe && m.i.Method == "absolute" && m.next() && ok()
}

// anyLine tries the absolute lines toward the box, or from it, until one is right.
func (m *moment) anyLine(toMe bool, ok func() bool) bool {
	for n := range m.v.Shelf {
		m.i = &m.v.Shelf[n]
		for k := range m.i.Lines {
			m.l = &m.i.Lines[k]
			if m.i.Method == "absolute" && m.l.ToMe == toMe && ok() {
				return true
			}
		}
	}
	return false
}

// at picks the instrument and, if one is named, the line.
func (m *moment) at(c block.CircuitID, s block.SectionID) bool {
	for n := range m.v.Shelf {
		if m.i = &m.v.Shelf[n]; m.i.Circuit != c {
			continue
		}
		m.l = nil
		for k := range m.i.Lines {
			if m.i.Lines[k].Section == s {
				m.l = &m.i.Lines[k]
			}
		}
		return true
	}
	return false
}

// of picks the line and its instrument.
func (m *moment) of(s block.SectionID) bool {
	sec, ok := m.w.r.Section(s)
	return ok && m.at(sec.Circuit, s) && m.l != nil
}

// quiet tells whether nothing is being said on the instrument.
func (m *moment) quiet() bool {
	return m.i.Called == "" && m.i.Has == "" && len(m.i.Waiting) == 0 && !m.i.Danger && !m.w.ringing[m.i.Circuit].After(m.w.now)
}

// still tells whether nothing is being said and nothing is signalled on either line.
func (m *moment) still() bool {
	for k := range m.i.Lines {
		if l := &m.i.Lines[k]; l.Standing != "IDLE" || l.Shows != block.Blocked || len(l.Trains) > 0 {
			return false
		}
	}
	return m.quiet() && len(m.i.Offers) == 0
}

// idle tells whether nothing is being said and nothing is signalled on the line picked.
func (m *moment) idle() bool {
	return m.l.Standing == "IDLE" && m.l.Shows == block.Blocked && len(m.l.Trains) == 0 && m.quiet() && len(m.i.Offers) == 0
}

// waited tells whether this box has rung something anywhere that has not been answered, or been called.
func (m *moment) waited() bool {
	for n := range m.v.Shelf {
		i := &m.v.Shelf[n]
		if i.Called == m.v.Box {
			return true
		}
		for _, w := range i.Waiting {
			if w.By == m.v.Box {
				return true
			}
		}
	}
	return false
}

// next picks the train that will be the next to leave by the line picked: one that waits here, else one on its way.
func (m *moment) next() bool { return m.nextBut("") }

// nextBut is next, leaving one train aside.
func (m *moment) nextBut(but block.TrainID) bool {
	m.t = nil
	for _, v := range m.p.calls {
		t := v.t
		if v.k >= len(t.way) || t.way[v.k].ID != m.l.Section || t.at > v.k || t.at == v.k && t.running || t.Train == but {
			continue
		}
		if m.t == nil || m.rank(t, v.k) < m.rank(m.t, m.callOf(m.t)) {
			m.t = t
		}
	}
	return m.t != nil
}

// rank orders trains by how soon they can leave the box: one that is here, one that comes, the others.
func (m *moment) rank(t *train, k int) int {
	switch {
	case t.at == k:
		return 0
	case t.at == k-1 && t.running:
		return 1
	}
	return 2
}

// callOf is the train's call at this box.
func (m *moment) callOf(t *train) int {
	for k := range t.Calls {
		if t.Calls[k].Box == m.v.Box {
			return k
		}
	}
	return -1
}

// here tells whether the train picked waits at this box, and does not move yet.
func (m *moment) here() bool {
	return m.t != nil && m.t.at == m.callOf(m.t) && m.t.waits && !m.t.going
}

// stopsNot tells whether the train picked is to run by this box, and is still on its way.
func (m *moment) stopsNot() bool {
	k := m.callOf(m.t)
	return k > 0 && m.t.at == k-1 && m.t.running && m.t.Calls[k].Pass >= 0
}

// inside picks the train that is in the section of the line picked.
func (m *moment) inside() bool {
	for _, t := range m.w.trains {
		if t.running && t.at < len(t.way) && t.way[t.at].ID == m.l.Section {
			m.t = t
			return true
		}
	}
	return false
}

// settings are the layout's.
func (m *moment) settings() *block.Settings { return &m.w.r.Layout().Settings }
