package paper

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"taillamp/block"
)

// setAt stands in every file, so that two prints of one layout can be compared.
var setAt = time.Date(1960, 1, 1, 0, 0, 0, 0, time.UTC)

// instructions are the special instructions of the box.
func (h *hung) instructions() {
	h.begin("SPECIAL INSTRUCTIONS")
	n := 0
	say := func(format string, a ...any) {
		n++
		h.paragraph(n, fmt.Sprintf(format, a...))
	}
	for _, c := range h.circuits() {
		if len(c.Over) > 0 {
			continue
		}
		for _, s := range c.Sections {
			say("%s line, %s to %s: %s, %d yards.", s.Line, h.name(s.Rear), h.name(s.Advance), methodNamed(c.Method), int(s.Yards))
		}
	}
	for _, c := range h.circuits() {
		if len(c.Over) > 0 {
			var closed []string
			for _, b := range c.Over {
				closed = append(closed, h.name(b))
			}
			say("While %s is switched out, this box works with %s.", strings.Join(closed, " and "), h.name(h.other(c)))
		}
	}
	say("%s", h.reaches())
	if h.box.Roads > 0 {
		say("There are %d roads. No train may be accepted unless a road is free for it.", h.box.Roads)
	}
	if h.box.Home > 0 {
		say("The home signals stand %d yards before the box.", int(h.box.Home))
	}
	for _, a := range h.box.Authorise {
		say("Authorised: %s.", strings.TrimSuffix(h.authority(a), "."))
	}
	if len(h.box.Authorise) == 0 {
		say("The warning arrangement and shunting into the forward section are not authorised here.")
	}
	if h.box.Switch {
		say("This box has a closing switch. It may be switched out only when the regulations for closing have been carried out with each neighbour that is open.")
	}
	say("What is not on this notice is worked by the regulations.")
}

// reaches says how far the line must be free before a train is accepted.
func (h *hung) reaches() string {
	switch h.box.Accepts {
	case "road":
		return "Before a train is accepted, the line must be unobstructed to the road that is set for it."
	case "starter":
		return "Before a train is accepted, the line must be unobstructed to the starting signal of its road."
	case "buffer":
		return "Before a train is accepted, the line must be unobstructed to the buffer stops of its road."
	}
	words := fmt.Sprintf("Before a train is accepted, the line must be unobstructed to a clearing point %d yards beyond the home signal.",
		int(cmp.Or(h.box.Clearing, 440)))
	if h.box.Accepts == "beyond" {
		words += " Where that reaches into the section ahead, line clear must first have been had from the next box."
	}
	return words
}

// authority writes a line of the box's card with names instead of initials.
func (h *hung) authority(a string) string {
	words := strings.Fields(a)
	for i, w := range words {
		if b, ok := h.r.Box(block.BoxID(w)); ok {
			words[i] = b.Name
		}
	}
	return strings.Join(words, " ")
}

// methodNamed is a method as a notice names it.
func methodNamed(method string) string {
	switch method {
	case "absolute":
		return "absolute block"
	case "token":
		return "electric key token"
	case "tablet":
		return "electric train tablet"
	case "electricStaff":
		return "electric train staff"
	case "permissive":
		return "permissive block, goods trains only"
	}
	return method
}

// untimed is after every time of a day.
const untimed = 48 * 3600

// movement is one train at the box.
type movement struct {
	at                            int // seconds after midnight, by which it stands in order
	train, class, code, run, line string
	arrives, passes, departs      string
}

// sequence is the notice of the trains that come to the box, in order.
func (h *hung) sequence(times bool) {
	h.begin("SEQUENCE OF TRAINS")
	var all []movement
	for _, w := range h.trains {
		if m, ok := h.moves(w); ok {
			all = append(all, m)
		}
	}
	slices.SortStableFunc(all, func(a, b movement) int { return a.at - b.at })
	if len(all) == 0 {
		h.paragraph(1, "No trains are booked.")
		return
	}
	columns := []ruled{{"", 7.5, true}, {"No.", 9, false}, {"Class", 14, false}, {"Code", 14, true}, {"From and to", 0, false}, {"Line", 31, false}}
	if !h.large {
		columns = []ruled{{"", 6, true}, {"No.", 7, false}, {"Class", 12, false}, {"Code", 11, true}, {"From and to", 0, false}, {"Line", 15, false}}
	}
	if times {
		wide := 15.0
		if !h.large {
			wide = 13
		}
		columns = append(columns, ruled{"arr.", wide, false}, ruled{"pass", wide, false}, ruled{"dep.", wide, false})
	}
	var rows [][]string
	for i, m := range all {
		rows = append(rows, []string{fmt.Sprint(i + 1), m.train, m.class, m.code, m.run, m.line, m.arrives, m.passes, m.departs}[:len(columns)])
	}
	h.table(columns, rows)
	if slices.ContainsFunc(h.trains, func(w block.Working) bool { return h.calls(w) < 0 && h.passes(w) >= 0 }) {
		h.y += 8
		h.paragraph(0, "Trains without a time are booked past this box. They are signalled here only while it is open.")
	}
}

// moves is what a train does at the box; false: it does not come here.
func (h *hung) moves(w block.Working) (movement, bool) {
	m := movement{train: string(w.Train), class: w.Class, code: w.Code.String(), run: h.run(w)}
	if n := h.calls(w); n >= 0 {
		p := w.Calls[n]
		m.line = p.Line
		if p.Line == "" && n+1 < len(w.Calls) {
			m.line = w.Calls[n+1].Line // it starts here
		}
		m.at, m.arrives, m.passes, m.departs = firstOf(p), spoken(p.Arrive), spoken(p.Pass), spoken(p.Depart)
		return m, true
	}
	if n := h.passes(w); n >= 0 { // it has no booked time here, and stands where it comes from the box in rear
		m.at, m.line = firstOf(w.Calls[n])+1, w.Calls[n+1].Line
		return m, true
	}
	if len(w.Calls) == 0 && (w.From == h.box.ID || w.To == h.box.ID) { // it has no booked time at all; it stands at the end
		m.at, m.line = untimed, w.Way
		return m, true
	}
	return m, false
}

// run is where a train goes, and what the owner has done with it.
func (h *hung) run(w block.Working) string {
	words := h.name(w.From) + " to " + h.name(w.To)
	if w.From == w.To {
		words = h.name(w.From) + " and back"
	}
	if w.Change != "" {
		words += " - " + strings.ToUpper(string(w.Change))
	}
	return words
}

// firstOf is when a train is first booked at a point.
func firstOf(p block.PointTime) int {
	for _, t := range []int{p.Arrive, p.Pass, p.Depart} {
		if t >= 0 {
			return t
		}
	}
	return -1
}

// spoken writes a booked time, in seconds after midnight; none below zero.
func spoken(at int) string {
	switch {
	case at < 0:
		return ""
	case at%60 >= 30:
		return fmt.Sprintf("%d.%02d½", at/3600, at/60%60)
	}
	return fmt.Sprintf("%d.%02d", at/3600, at/60%60)
}
