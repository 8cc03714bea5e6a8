package register

import (
	"slices"

	"taillamp/block"
)

// panelsOf lays the district out: the longest line of neighbours first, then what branches from it. A stretch that
// stands in for others while a box is switched out is no line of its own.
func panelsOf(r *block.Rules) []Panel {
	left := slices.DeleteFunc(slices.Clone(r.Layout().Between), func(b block.Between) bool {
		return b.While != "" || len(b.Boxes) != 2
	})
	var panels []Panel
	for len(left) > 0 {
		line := longestLine(r.Layout().Boxes, left)
		if len(line) == 0 {
			break
		}
		panels = append(panels, panelOf(r, line))
		left = slices.DeleteFunc(left, func(b block.Between) bool {
			return slices.ContainsFunc(line, func(x block.Between) bool { return slices.Equal(x.Boxes, b.Boxes) })
		})
	}
	return panels
}

// longestLine finds the line of most stretches, of those as long the one of most yards. Boxes stand in Down order, so that
// every stretch leads on.
func longestLine(boxes []block.Box, stretches []block.Between) []block.Between {
	to := make(map[block.BoxID][]block.Between) // the best line that ends at a box
	better := func(a, b []block.Between) bool {
		return len(a) > len(b) || len(a) == len(b) && yardsOf(a) > yardsOf(b)
	}
	var best []block.Between
	for _, b := range boxes {
		for _, s := range stretches {
			if s.Boxes[0] != b.ID {
				continue
			}
			line := append(slices.Clone(to[b.ID]), s)
			if better(line, to[s.Boxes[1]]) {
				to[s.Boxes[1]] = line
			}
			if better(line, best) {
				best = line
			}
		}
	}
	return best
}

func yardsOf(line []block.Between) block.Yards {
	var sum block.Yards
	for _, s := range line {
		sum += s.Yards
	}
	return sum
}

func panelOf(r *block.Rules, line []block.Between) Panel {
	place := func(id block.BoxID, at block.Yards) Place {
		b, _ := r.Box(id)
		return Place{Box: id, Name: b.Name, At: at}
	}
	p := Panel{Places: []Place{place(line[0].Boxes[0], 0)}}
	var at block.Yards
	for _, s := range line {
		at += s.Yards
		p.Places = append(p.Places, place(s.Boxes[1], at))
	}
	return p
}

// place finds a box on a panel.
func (p *Panel) place(box block.BoxID) (Place, bool) {
	at := slices.IndexFunc(p.Places, func(x Place) bool { return x.Box == box })
	if at < 0 {
		return Place{}, false
	}
	return p.Places[at], true
}

func (p *Panel) has(a, b block.BoxID) bool {
	_, ok := p.place(a)
	_, too := p.place(b)
	return ok && too
}
