package block

import "slices"

// pilotState is a pilotman's working between two boxes: of one road of a double line while the other is blocked, or of a
// single line whose instruments have failed (other-methods reference, 9.3). He is the token: no train goes without him
// or his ticket, and none goes toward him. The lines' own bells go on as they can.
type pilotState struct {
	forms   [2]bool // by end: his form was received and countersigned there
	road    int     // the line that is blocked: the end that it leaves
	at      int     // the end where he is, or that he left with a train
	with    TrainID // the train that he is on
	riding  bool
	tickets []pilotTicket
}

// pilotTicket is his ticket for one train and one journey.
type pilotTicket struct {
	train TrainID
	from  int
}

// inForce tells whether a pilotman has been appointed, so that trains need no token.
func (p *pilotState) inForce() bool { return p.forms[0] || p.forms[1] }

// pilot works an act of the pilotman at end x; the line leaving end l is the one that he is wanted for.
func (w *work) pilot(x, l int) error {
	p := &w.t.pilot
	switch w.e.Where {
	case Form:
		if w.e.Off && !p.forms[x] {
			return ErrNoPilotman
		}
		if !p.inForce() {
			p.road = l
		}
		p.forms[x] = !w.e.Off
		if !w.e.Off {
			p.at, p.riding = x, false // he brings it himself, and walks through to the other end with the last
		} else if !p.inForce() {
			*p = pilotState{road: p.road}
		}
	case Comes:
		if !p.inForce() {
			return ErrNoPilotman
		}
		p.at, p.riding = x, false
	case Rides, Ticket:
		if w.e.Train == "" {
			return ErrNoSense
		}
		if !p.inForce() || p.at != x || p.riding {
			return ErrNoPilotman
		}
		if w.e.Where == Rides {
			p.riding, p.with = true, w.e.Train
		} else {
			p.tickets = append(slices.Clip(p.tickets), pilotTicket{w.e.Train, x})
		}
	default:
		return ErrNoSense
	}
	w.change(Change{Pilot: &Piloted{Section: w.section(p.road), Box: w.id(x), Where: w.e.Where, Off: w.e.Off, Train: w.e.Train}})
	return nil
}

// goesByPilot judges a train that leaves end x of a line under a pilotman: OC-08 if an end has not got his form, OC-09 if
// the train has neither him nor his ticket. A ticket is for one journey.
func (w *work) goesByPilot(x, l int) {
	p := &w.t.pilot
	own := p.at == x && p.riding && (w.e.Train == "" || p.with == w.e.Train)
	i := slices.IndexFunc(p.tickets, func(t pilotTicket) bool { return t.from == x && (w.e.Train == "" || t.train == w.e.Train) })
	switch {
	case !p.forms[0] || !p.forms[1]:
		w.breaks("OC-08", x, l, w.e.At)
	case !own && i < 0:
		w.breaks("OC-09", x, l, w.e.At)
	case !own:
		p.tickets = slices.Delete(slices.Clone(p.tickets), i, i+1)
	}
}

// comesWithPilot brings the pilotman to end x with the train that he rides on.
func (w *work) comesWithPilot(x int) {
	p := &w.t.pilot
	if p.riding && p.at != x && (w.e.Train == "" || p.with == w.e.Train) && w.e.Where != Stands {
		p.at, p.riding, p.with = x, false, ""
	}
}
