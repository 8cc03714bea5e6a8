package block

// View returns what the operator of box may see of s. It never shows what a real signaller could not know: a dead
// bell is silent, and a train is where this box has seen it.
func (r *Rules) View(s State, box BoxID) View {
	n, ok := r.boxNo[box]
	if !ok {
		return View{Box: box, At: s.at}
	}
	b := s.boxes[n]
	v := View{Box: box, At: s.at, OnDuty: b.duty, Open: b.open, Ears: b.ears, Paused: s.paused}
	if b.duty {
		v.Since = b.since
	}
	for _, c := range r.boxes[n].circuits {
		if p := &r.circuits[c]; s.works(p) {
			v.Shelf = append(v.Shelf, r.instrument(&s, p, s.circuits[c], p.end(n)))
		}
	}
	return v
}

// instrument is one circuit as the box at end x has it before him.
func (r *Rules) instrument(s *State, p *circuitPlan, c *circuitState, x int) Instrument {
	y := 1 - x
	t := c.talk
	far := p.boxes[y]
	i := Instrument{Circuit: p.id, To: r.boxes[far].ID, Name: r.boxes[far].Name, Side: "up", Method: p.kind, Level: p.level,
		Staffed: s.boxes[far].duty, Sent: c.keys[x].last, Danger: t.danger[0] != none || t.danger[1] != none}
	if x == downEnd {
		i.Side = "down"
	}
	if !t.dead {
		i.Heard = c.keys[y].last
	}
	if m := &t.pilot; m.inForce() {
		i.Pilot = &PilotView{Section: r.sections[p.sections[m.road]].id, Form: m.forms[x], Far: m.forms[y], Here: m.at == x && !m.riding,
			Riding: m.riding, With: m.with}
	}
	for e := range t.call {
		id := r.boxes[p.boxes[e]].ID
		if t.call[e].open {
			i.Called, i.CalledAt = id, t.call[e].at
		}
		if a := t.call[e]; (i.Has == "" || e == x) && !a.answered.IsZero() && !a.spent && s.at.Sub(a.answered) <= r.attention {
			i.Has, i.HasSince = id, a.answered // both may have it: then each knows of himself
		}
		i.Offers = append(i.Offers, r.pending(p, t.offer[e], e)...)
		i.Waiting = append(i.Waiting, r.pending(p, t.other[e], e)...)
	}
	for _, l := range []int{y, x} { // toward this box first
		if p.sections[l] >= 0 {
			v := r.lineView(p, t, l, x)
			switch {
			case withTokens(p.kind):
				r.tokenView(&v, p, c, x)
			case withStaff(p.kind):
				r.staffView(&v, p, t, x)
			case p.kind == permissiveName:
				r.permissiveView(&v, p, &t.lines[l], l)
			}
			i.Lines = append(i.Lines, v)
		}
	}
	return i
}

// pending is a signal that awaits its answer.
func (r *Rules) pending(p *circuitPlan, o *open, from int) []Pending {
	if o == nil {
		return nil
	}
	w := Pending{By: r.boxes[p.boxes[from]].ID, Key: o.code.Key, Beats: o.code.Beats, First: o.first, Train: o.train, Again: o.mends || o.again}
	if o.line >= 0 && p.sections[o.line] >= 0 {
		w.Section = r.sections[p.sections[o.line]].id
	}
	return []Pending{w}
}

// lineView is the line leaving end l as the box at end x has it.
func (r *Rules) lineView(p *circuitPlan, t *talk, l, x int) LineView {
	ln := &t.lines[l]
	sec := &r.sections[p.sections[l]]
	v := LineView{Section: sec.id, Line: sec.Name, Way: sec.Way, ToMe: l != x, Shows: ln.shows, Count: ln.count,
		Standing: p.method.standing(t, l), Collar: ln.collar[x], Engineers: ln.engineers.on}
	if p.kind != absoluteName && p.kind != trackCircuitName {
		v.ToMe = l != x && sec.Way != "both"
	}
	if l == x {
		v.Signal = "on"
		if ln.signal {
			v.Signal = "off"
		}
		v.Going = ln.going()
	} else {
		v.Foul, v.Out, v.Home = ln.foul, ln.free(), ln.home
	}
	if ln.offer != nil {
		v.Train, v.Key, v.Beats = ln.offer.train, ln.offer.code.Key, ln.offer.code.Beats
	}
	for i := range ln.trains {
		switch o := &ln.trains[i]; {
		case l == x: // what the box in advance has seen of it, this one cannot
			v.Unasked = v.Unasked || o.left.IsZero() && !o.two.IsZero() && !o.accepted && !o.given && !o.shunt
			v.Trains = append(v.Trains, Spotted{Train: o.id, Section: sec.id})
		case o.seen != "" || !o.two.IsZero(): // the box in advance knows of a train by 2, or by seeing it
			v.Trains = append(v.Trains, Spotted{Train: o.id, Section: sec.id, Where: o.seen, Lamp: o.lamp})
		}
	}
	return v
}

// going tells whether a train has passed the section signal regularly and its 2 has not been rung.
func (l *line) going() bool {
	for i := range l.trains {
		if o := &l.trains[i]; !o.left.IsZero() && o.two.IsZero() && o.accepted && !o.given {
			return true
		}
	}
	return false
}

// free tells whether the box in advance knows that the train the bells speak of has passed whole and that nothing
// fouls the line: its 2-1 is due.
func (l *line) free() bool {
	i := l.train("")
	return i >= 0 && l.trains[i].out() && l.foul == ""
}
