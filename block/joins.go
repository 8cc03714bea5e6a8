package block

import "slices"

// join is two boxes that can work with one another: neighbours, or boxes with nothing between them but boxes
// that are switched out.
type join struct {
	Between
	out []BoxID // the boxes between the two, which must be out
}

// joins lists every pair of boxes that can come to work together: the neighbours as written, then the long
// sections that form over boxes with a closing switch, unless the layout writes such a pair itself (`while`).
func (l *Layout) joins() []join {
	var all []join
	written := func(a, b BoxID) bool {
		return slices.ContainsFunc(all, func(j join) bool { return j.Boxes[0] == a && j.Boxes[1] == b })
	}
	for _, b := range l.Between {
		if len(b.Boxes) != 2 {
			continue // a flaw of the layout, said where the lines are checked
		}
		j := join{Between: b}
		if out, ok := b.whileOut(); ok {
			j.out = []BoxID{out}
		}
		all = append(all, j)
	}
	short := slices.DeleteFunc(slices.Clone(all), func(j join) bool { return len(j.out) > 0 })
	for longer := short; len(longer) > 0; {
		var next []join
		for _, a := range longer {
			for _, b := range short {
				if a.Boxes[1] != b.Boxes[0] || !l.hasSwitch(b.Boxes[0]) {
					continue
				}
				j := a.over(b)
				if len(j.Lines) > 0 && !written(j.Boxes[0], j.Boxes[1]) {
					next = append(next, j)
				}
			}
		}
		all = append(all, next...)
		longer = next
	}
	return all
}

// over is the long section that forms over the box between a and b. Only a line that goes through both, worked
// by the same method, goes on through.
func (a join) over(b join) join {
	long := join{Between: a.Between, out: append(slices.Clone(a.out), b.Boxes[0])}
	long.Boxes = []BoxID{a.Boxes[0], b.Boxes[1]}
	long.Yards = a.Yards + b.Yards
	long.MPH = min(a.MPH, b.MPH)
	long.Hears = nil
	long.Lines = nil
	for _, x := range a.Lines {
		for _, y := range b.Lines {
			if x.Name == y.Name && x.Way == y.Way && x.Method == absoluteName && y.Method == absoluteName {
				x.MPH = min(x.MPH, y.MPH)
				long.Lines = append(long.Lines, x)
			}
		}
	}
	return long
}

func (l *Layout) hasSwitch(id BoxID) bool {
	return slices.ContainsFunc(l.Boxes, func(b Box) bool { return b.ID == id && b.Switch })
}
