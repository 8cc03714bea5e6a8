package block

import "strings"

// staffView fills in the single line as the box at end x has it before him.
func (r *Rules) staffView(v *LineView, p *circuitPlan, t *talk, x int) {
	ln, st := &t.lines[singleLine], &t.staff
	m := p.method.(staff)
	k := &StaffView{Shows: StaffAway, Tickets: m.tickets, Block: m.block, Mine: ln.stands != idle && t.token.from == x}
	switch {
	case st.with == x && st.carried:
		k.Shows, k.Train = StaffGone, st.holder
	case st.with == x:
		k.Shows, k.Open, k.Showed = StaffHere, st.open, st.showed
	}
	k.Coming = st.with != x && st.carried
	at, coming := 0, 0
	for _, n := range st.tickets {
		k.Out = append(k.Out, n.number)
		if n.from == x && !n.gone {
			at++
		}
		if n.from != x {
			coming++
		}
	}
	k.Ready = at > 0 || k.Shows == StaffGone && !r.left(ln, x, st)
	k.Says = k.words(r.boxes[p.boxes[1-x]].Name)
	k.May = k.may(coming > 0)
	v.Staff = k
	single(v, ln, &t.token, x)
}

// left tells whether the train that was given the staff at end x has gone.
func (r *Rules) left(ln *line, x int, st *staffState) bool { return st.last[x].After(st.moved) }

// words says where the staff is and what is out. other is the box at the other end.
func (k *StaffView) words(other string) string {
	var says string
	switch k.Shows {
	case StaffHere:
		says = "The staff is here"
	case StaffGone:
		says = "The train has the staff"
		if k.Train != "" {
			says = "Train " + string(k.Train) + " has the staff"
		}
	default:
		says = "The staff is at " + other + " or on its way from there"
	}
	if k.Open {
		says += ", the ticket box open"
	}
	switch len(k.Out) {
	case 0:
		return says + "."
	case 1:
		return says + ". Ticket " + k.Out[0] + " is out."
	}
	return says + ". Tickets " + strings.Join(k.Out, " and ") + " are out."
}

// may is what a hand can try. coming: a ticket that was issued at the other end is out.
func (k *StaffView) may(coming bool) []Place {
	var may []Place
	switch k.Shows {
	case StaffHere:
		may = append(may, Handed)
		if k.Tickets {
			may = append(may, ShownTo, Unlocked)
		}
		if k.Open {
			may = append(may, Issued)
		} else {
			may = append(may, Walked)
		}
	default:
		may = append(may, GivenUp)
	}
	if coming {
		may = append(may, Spent)
	}
	return may
}

// single fills in what every single line has, whichever way its trains go.
func single(v *LineView, ln *line, tk *tokenState, x int) {
	v.ToMe, v.Shows = false, Blocked
	v.Signal = "on"
	if tk.signal[x] {
		v.Signal = "off"
	}
	i, j := ln.goingFrom(x), ln.comingTo(x)
	v.Going = i >= 0 && !ln.trains[i].left.IsZero() && !ln.trains[i].found
	v.Out = j >= 0 && ln.trains[j].inside()
	v.Foul = tk.foul[x]
	v.Trains = nil
	for n := range ln.trains {
		switch o := &ln.trains[n]; {
		case o.from == x: // what the other end has seen of it, this one cannot
			v.Gone = v.Gone || !o.left.IsZero() && !o.given
			v.Trains = append(v.Trains, Spotted{Train: o.id, Section: v.Section})
		case o.seen != "" || !o.two.IsZero():
			v.Trains = append(v.Trains, Spotted{Train: o.id, Section: v.Section, Where: o.seen, Lamp: o.lamp})
		}
	}
}
