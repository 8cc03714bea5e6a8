package block

import (
	"slices"
	"strings"
)

// reaching adds, for a box that accepts only with line clear from the box ahead, what is offered to it from behind: it
// offers that on at once (other-methods reference, 7.2, F2 and F3).
func (r *Rules) reaching(v View) View {
	n, ok := r.boxNo[v.Box]
	if !ok || r.boxes[n].Accepts != "beyond" {
		return v
	}
	v.Sends = slices.Clip(v.Sends)
	for i := range v.Shelf {
		for _, w := range v.Shelf[i].Offers {
			if w.By != v.Shelf[i].To {
				continue
			}
			on := v.onward(v.Shelf[i].Side)
			if on == "" || slices.ContainsFunc(v.Sends, func(s Sending) bool { return s.Section == on && s.Beats.Equal(w.Beats) }) {
				continue
			}
			v.Sends = append(v.Sends, Sending{Train: w.Train, Section: on, Beats: w.Beats, From: w.First})
		}
	}
	return v
}

// onward is the one line that goes on from trains of that side; empty where there is none, or a choice.
func (v *View) onward(side string) SectionID {
	var on SectionID
	for i := range v.Shelf {
		for n := range v.Shelf[i].Lines {
			l := &v.Shelf[i].Lines[n]
			if v.Shelf[i].Side == side || l.ToMe {
				continue
			}
			if on != "" {
				return ""
			}
			on = l.Section
		}
	}
	return on
}

// aheadAccepted tells whether nothing keeps this box from accepting because of the box ahead of it: it need not ask, or
// it has line clear for a train of that class.
func (d *desk) aheadAccepted(w Pending) bool {
	n, ok := d.r.boxNo[d.v.Box]
	if !ok || d.r.boxes[n].Accepts != "beyond" {
		return true
	}
	on := d.v.onward(d.i.Side)
	if on == "" {
		return true
	}
	for i := range d.v.Shelf {
		for _, l := range d.v.Shelf[i].Lines {
			mine := l.Token == nil || l.Token.Mine
			if l.Section == on && mine && l.Key == w.Key && (base(l.Standing) == "ACC" || base(l.Standing) == "ACW") {
				return true
			}
		}
	}
	return false
}

// clearAhead tells whether the line is clear to this box's clearing point where that lies beyond the home signal of the
// box ahead, as far as this box knows: no train on the way there, nothing blocked back.
func (d *desk) clearAhead() bool {
	n, ok := d.r.boxNo[d.v.Box]
	if !ok || d.r.boxes[n].Accepts != "clearing" {
		return true
	}
	b := &d.r.boxes[n]
	for i := range d.v.Shelf {
		far := &d.r.boxes[d.r.boxNo[d.v.Shelf[i].To]]
		for _, l := range d.v.Shelf[i].Lines {
			sec, known := d.r.sectionNo[l.Section]
			if !known || l.ToMe || d.v.Shelf[i].Side == d.i.Side || b.Clearing-b.Home <= d.r.sections[sec].yards-far.Home {
				continue
			}
			if s := base(l.Standing); s == "ENT" || s == "LINE" || s == "DOUBT" || strings.Contains(l.Standing, "+bb") {
				return false
			}
		}
	}
	return true
}
