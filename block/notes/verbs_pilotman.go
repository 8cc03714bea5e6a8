package notes

import (
	"slices"

	"taillamp/block"
)

// addPilotman adds the lines of a pilotman's working and of a line given up to the engineers. On a double line the one
// meant is that from the box named first to the other, unless the line is named.
func addPilotman(add func(string, func(*parser, map[string]word) error)) {
	on := func(e block.Event) func(*parser, map[string]word) error {
		return func(p *parser, g map[string]word) error {
			s, err := p.district.joining(g["A"].text, g["B"].text, g["BY"].text)
			if err != nil {
				return err
			}
			e.Section, e.Train, e.Words = s.ID, block.TrainID(g["N"].text), g["WORDS"].text
			return p.atBox(g["A"].text, e)
		}
	}
	add("A signs pilotman's form for B", on(block.Event{Do: block.Pilot, Where: block.Form}))
	add("A withdraws pilotman's form for B", on(block.Event{Do: block.Pilot, Where: block.Form, Off: true}))
	add("pilotman comes to A from B", on(block.Event{Do: block.Pilot, Where: block.Comes}))
	add("pilotman rides train N from A to B", on(block.Event{Do: block.Pilot, Where: block.Rides}))
	add("A gives pilotman's ticket for B to train N", on(block.Event{Do: block.Pilot, Where: block.Ticket}))
	add("A gives engineers the line to B WORDS", on(block.Event{Do: block.Engineers}))
	add("A takes back the line to B WORDS", on(block.Event{Do: block.Engineers, Off: true}))
	add("A takes back the line to B", on(block.Event{Do: block.Engineers, Off: true}))
}

// joining finds a line between two boxes, whichever way its trains go if it is named; else the line from a to b.
func (d *district) joining(a, b, by string) (block.Section, error) {
	if by == "" {
		return d.section(a, b, "")
	}
	c, err := d.circuit(a, b, by)
	if err != nil {
		return block.Section{}, err
	}
	i := slices.IndexFunc(c.Sections, func(s block.Section) bool { return named(s.Line, by) })
	return c.Sections[i], nil
}
