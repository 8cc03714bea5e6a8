package review

import (
	"strings"
)

// Working in fog or falling snow, where the layout's fogRule asks for the line to be clear through the next section
// too unless fogsignalmen are out. Reference: absolute block, section 4.5, from memory.

// Whether it is foggy a signaller knows from his own window, and his book says so: a remark that begins with fog or
// falling snow begins it, one that says it lifts or that fogsignalmen are out ends what is asked here.
func (b *box) readsWeather(words string) {
	words = strings.ToLower(words)
	if !strings.Contains(words, "fog") && !strings.Contains(words, "snow") {
		return
	}
	b.fog = true
	for _, over := range []string{"lift", "clear", "over", "fogsignalmen", "fogsignalman", "fogmen"} {
		if strings.Contains(words, over) {
			b.fog = false
		}
	}
}

// lookedOneSection is FG-01: a train was accepted in fog, with no fogsignalmen out, while the section that it would go
// on into was not clear.
func (v *reviewer) lookedOneSection(l *line, sig signal) {
	if v.r.Layout().Settings.FogRule != "double" || !v.boxes[l.Advance].fog {
		return
	}
	for _, on := range v.order {
		if on.Rear != l.Advance || on.Way != l.Way || on.Line != l.Line || !v.r.Works(v.state, on.pair.ID) {
			continue
		}
		s := v.stands(on)
		if s.InSection || s.Accepted || s.Outside || s.Inside || s.Forward || s.Danger {
			v.add("FG-01", l.Advance, sig.at, l, sig.seq)
		}
	}
}
