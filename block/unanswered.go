package block

// Unanswered lists the signals of a box on one circuit that await their answer, for whoever follows a whole district.
func (r *Rules) Unanswered(s State, id CircuitID, by BoxID) []Pending {
	n, ok := r.circuitNo[id]
	if !ok {
		return nil
	}
	p := &r.circuits[n]
	for e, b := range p.boxes {
		if r.boxes[b].ID == by {
			return r.pending(p, s.circuits[n].talk.other[e], e)
		}
	}
	return nil
}
