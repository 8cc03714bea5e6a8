package sitting

import (
	"slices"
	"time"

	"taillamp/block"
)

// Telephone is one line of it as a box has it before it. Its words are in the record; it moves no needle and accepts no
// train.
type Telephone struct {
	Circuit block.CircuitID `json:"circuit,omitempty"` // empty: the line that all boxes share
	Rings   block.BoxID     `json:"rings,omitempty"`   // who rings, and nobody has answered
	On      []block.BoxID   `json:"on,omitempty"`      // whose receivers are off
	Said    []Said          `json:"said,omitempty"`    // in this call or the last
	Dead    bool            `json:"dead,omitempty"`    // the box has tried it, and heard nothing
}

// Said is one thing that somebody said by telephone.
type Said struct {
	By    block.BoxID `json:"by"`
	At    time.Time   `json:"at"`
	Clock float64     `json:"clock"` // seconds after the district's midnight
	Words string      `json:"words"`
}

// remembersSaid is how much of a call a telephone shows; all of it stands in the record.
const remembersSaid = 20

// phone is one line, whole.
type phone struct {
	Telephone
	tried []block.BoxID // found it dead
}

// shared tells whether all boxes are on one line.
func (l *Live) shared() bool { return l.rules.Layout().Settings.Telephone == "circuit" }

// phoneOf is the telephone line that an act of a box goes by.
func (l *Live) phoneOf(c block.CircuitID) *phone {
	if l.shared() {
		c = ""
	}
	if l.phones[c] == nil {
		l.phones[c] = &phone{Telephone: Telephone{Circuit: c}}
	}
	return l.phones[c]
}

// phoneFails tells whether the telephone of a box is dead on a line.
func (l *Live) phoneFails(box block.BoxID, c block.CircuitID) bool {
	d := l.desk(box)
	return slices.ContainsFunc(l.faults, func(f failed) bool {
		return f.Where == block.AtPhone && (f.Circuit == c || l.shared() && d != nil && d.hears[f.Circuit])
	})
}

// mayCall tells whether a box may do that at its telephone now. A call without words rings or answers; with words it says
// them; with Off it puts the receiver down.
func (l *Live) mayCall(d *boxDesk, e block.Event) error {
	switch {
	case l.rules.Layout().Settings.Telephone == "none":
		return block.ErrNoInstrument
	case e.Circuit == "" && !l.shared():
		return block.ErrNoSuchLine
	case e.Circuit != "" && !d.hears[e.Circuit]:
		return block.ErrNotYours
	}
	p := l.phoneOf(e.Circuit)
	on := slices.Contains(p.On, d.id)
	switch {
	case e.Off && !on && !slices.Contains(p.tried, d.id), e.Words == "" && !e.Off && on:
		return ErrAsItIs
	case e.Words != "" && (!on || len(p.On) < 2):
		return ErrNobodyOn
	}
	return nil
}

// called keeps account of the telephones. It is a fold of the record and of nothing else.
func (l *Live) called(e block.Event) {
	switch e.Do {
	case block.Call:
		l.phoneOf(e.Circuit).take(l, e)
	case block.Duty:
		for _, p := range l.phones {
			p.down(e.By)
		}
	case block.Fault:
		if e.Where == block.AtPhone && !e.Off {
			l.phoneOf(e.Circuit).dies(l, e.Circuit)
		}
	}
}

func (p *phone) take(l *Live, e block.Event) {
	on := slices.Contains(p.On, e.By)
	switch {
	case e.Off:
		p.down(e.By)
	case l.phoneFails(e.By, e.Circuit):
		if !slices.Contains(p.tried, e.By) {
			p.tried = append(slices.Clone(p.tried), e.By)
		}
	case e.Words != "":
		t := l.District().At(e.At)
		midnight := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
		p.Said = append(slices.Clone(p.Said), Said{e.By, e.At, t.Sub(midnight).Seconds(), e.Words})
		if over := len(p.Said) - remembersSaid; over > 0 {
			p.Said = p.Said[over:]
		}
	case !on:
		p.tried = remove(p.tried, e.By)
		if p.On = append(slices.Clone(p.On), e.By); len(p.On) == 1 {
			p.Rings, p.Said = e.By, nil
		} else {
			p.Rings = ""
		}
	}
}

// down is a receiver put down.
func (p *phone) down(box block.BoxID) {
	p.On, p.tried = remove(p.On, box), remove(p.tried, box)
	if p.Rings == box {
		p.Rings = ""
	}
}

// dies is a line that fails: whoever was on it hears nothing more.
func (p *phone) dies(l *Live, c block.CircuitID) {
	for _, box := range p.On {
		if l.phoneFails(box, c) {
			p.tried = append(slices.Clone(p.tried), box)
			p.On = remove(p.On, box)
		}
	}
	if !slices.Contains(p.On, p.Rings) {
		p.Rings = ""
	}
}

func remove(all []block.BoxID, box block.BoxID) []block.BoxID {
	return slices.DeleteFunc(slices.Clone(all), func(b block.BoxID) bool { return b == box })
}

// as is the line as one box has it: what is said while its receiver is down it does not hear, and a telephone that has
// failed does not ring.
func (p *phone) as(l *Live, box block.BoxID) Telephone {
	t := p.Telephone
	t.On, t.Said = slices.Clone(p.On), slices.Clone(p.Said)
	t.Dead = slices.Contains(p.tried, box)
	if t.Rings != box && (t.Dead || l.phoneFails(box, p.Circuit)) {
		t.Rings, t.On, t.Said = "", nil, nil
	}
	if p.Circuit == "" && !slices.Contains(p.On, box) && t.Rings == "" {
		t.Said = nil
	}
	return t
}

// phonesOf are the lines that a box has had something to do with.
func (l *Live) phonesOf(d *boxDesk) []Telephone {
	var all []Telephone
	for _, c := range l.rules.Circuits() {
		if p := l.phones[c.ID]; p != nil && d.hears[c.ID] {
			all = append(all, p.as(l, d.id))
		}
	}
	if p := l.phones[""]; p != nil {
		all = append(all, p.as(l, d.id))
	}
	return all
}

// phonesAfter is what every box's telephone shows after an act at one, by desks; nil where the act was none.
func (l *Live) phonesAfter(e block.Event) [][]Telephone {
	if e.Do != block.Call && e.Do != block.Fault && e.Do != block.Duty || len(l.phones) == 0 {
		return nil
	}
	all := make([][]Telephone, len(l.desks))
	for i, d := range l.desks {
		all[i] = l.phonesOf(d)
	}
	return all
}
