package web

import (
	"slices"
	"strings"

	"taillamp/block"
	"taillamp/web/sitting"
)

// shortHanded are proposals for the boxes that have no person, in line order: who beside them could take two, whether they
// can be switched out, which of them a simulated signaller works. Nothing is done by itself.
func (s *server) shortHanded(o *sitting.Oversight) []string {
	next := neighboursOf(s.live.Rules().Layout())
	at := make(map[block.BoxID]sitting.Overseen, len(o.Boxes))
	for _, b := range o.Boxes {
		at[b.Box] = b
	}
	var all []string
	for _, stop := range lineOf(s.live.Rules()) {
		b := at[stop.Box]
		box, _ := s.live.Rules().Box(stop.Box)
		switch {
		case b.Taken:
			continue
		case !b.Open:
			all = append(all, b.Name+" is switched out. Whoever takes duty there may switch it in.")
			continue
		}
		words := b.Name + " has nobody. "
		if b.OnDuty && b.Simulated {
			words = b.Name + " is worked by a simulated signaller. "
		}
		var could []string
		for _, n := range next[stop.Box] {
			if at[n].Taken {
				could = append(could, at[n].Name)
			}
		}
		slices.Sort(could)
		if len(could) > 0 {
			words += "Whoever works " + strings.Join(could, " or ") + " could take it too."
		} else {
			words += "No neighbour of it has a person."
		}
		if box.Switch {
			words += " It can be switched out."
		}
		all = append(all, words)
	}
	return all
}
