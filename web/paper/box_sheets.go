package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"taillamp/block"
)

// setAt stands in every file, so that two prints of one layout can be compared.
var setAt = time.Date(1960, 1, 1, 0, 0, 0, 0, time.UTC)

// codes is the card of bell codes: only those that the box needs.
func (h *hung) codes() {
	h.begin("BELL CODES")
	var done []*block.CodeBook
	for _, c := range h.circuits() {
		if slices.Contains(done, c.Book) {
			continue
		}
		done = append(done, c.Book)
		var trains, others [][]string
		for _, code := range c.Book.Codes {
			if !h.needs(c.Book, code) {
				continue
			}
			row := []string{code.Beats.String(), strings.TrimSpace(code.Class + "  " + code.Means), attentionWords(code.Attention)}
			if code.Train {
				trains = append(trains, row)
			} else {
				others = append(others, row)
			}
		}
		h.font("", body)
		h.pdf.Text(edge+1, h.y, h.latin(c.Book.Title+"."))
		h.y += leading + 2
		shares := []float64{0.17, 0.63, 0.20}
		h.rows([]string{"Beats", "Is line clear for …?", "Attention"}, shares, trains)
		h.rows([]string{"Beats", "Other signals", "Attention"}, shares, others)
	}
}

func attentionWords(first bool) string {
	if first {
		return "call first"
	}
	return "not called"
}

// needs tells whether the box has a use for a code: a class of train that comes to it by the sequence, a signal of a
// token where it has one, what its card authorises.
func (h *hung) needs(book *block.CodeBook, code block.Code) bool {
	if code.Train {
		return h.comes(code)
	}
	switch code.Key {
	case "release-token", "token-replaced", "token-out":
		return slices.ContainsFunc(h.circuits(), func(c block.Circuit) bool {
			return c.Book == book && (c.Method == "token" || c.Method == "tablet" || c.Method == "electricStaff")
		})
	case "warning":
		return slices.ContainsFunc(h.box.Authorise, func(a string) bool { return strings.HasPrefix(a, "warning") })
	case "shunt-forward", "shunt-withdrawn":
		return slices.ContainsFunc(h.box.Authorise, func(a string) bool { return strings.HasPrefix(a, "forward") })
	case "closing", "opening", "closing-locked":
		return h.box.Switch || slices.ContainsFunc(h.circuits(), func(c block.Circuit) bool {
			b, _ := h.r.Box(h.other(c))
			return b.Switch
		})
	}
	return true
}

// comes tells whether a train of a class comes to the box by the sequence. Without a sequence any may.
func (h *hung) comes(code block.Code) bool {
	all := h.trains
	if len(all) == 0 {
		return true
	}
	return slices.ContainsFunc(all, func(w block.Working) bool { return w.Code.Equal(code.Beats) && h.calls(w) >= 0 })
}

// calls is the place of the box among the points of a train; −1: it does not come here.
func (h *hung) calls(w block.Working) int {
	return slices.IndexFunc(w.Calls, func(p block.PointTime) bool { return p.Box == h.box.ID })
}

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
	if h.box.Roads > 0 {
		say("There are %d roads. No train may be accepted unless a road is free for it.", h.box.Roads)
	} else {
		clearing := int(h.box.Clearing)
		if clearing == 0 {
			clearing = 440
		}
		say("Before a train is accepted, the line must be unobstructed to a clearing point %d yards beyond the home signal.", clearing)
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
	at    int // seconds after midnight; −1: no time is booked
	cells []string
}

// sequence is the notice of the trains that come to the box, in order.
func (h *hung) sequence(times bool) {
	h.begin("SEQUENCE OF TRAINS")
	var all []movement
	for _, w := range h.trains {
		n := h.calls(w)
		if n < 0 {
			if len(w.Calls) == 0 && (w.From == h.box.ID || w.To == h.box.ID) { // it has no booked time; it stands at the end
				all = append(all, movement{untimed, []string{"", string(w.Train), w.Class, w.Code.String(), h.run(w), w.Way, ""}})
			}
			continue
		}
		p := w.Calls[n]
		line := p.Line
		if line == "" && n+1 < len(w.Calls) {
			line = w.Calls[n+1].Line // it starts here
		}
		all = append(all, movement{firstOf(p), []string{"", string(w.Train), w.Class, w.Code.String(), h.run(w), line, spoken(p)}})
	}
	slices.SortStableFunc(all, func(a, b movement) int { return a.at - b.at })
	heads := []string{"", "No.", "Class", "Code", "From and to", "Line", "Booked"}
	shares := []float64{0.06, 0.07, 0.09, 0.11, 0.36, 0.17, 0.14}
	if !times {
		heads, shares = heads[:6], []float64{0.06, 0.07, 0.10, 0.12, 0.43, 0.22}
	}
	var rows [][]string
	for i, m := range all {
		m.cells[0] = fmt.Sprint(i + 1)
		rows = append(rows, m.cells[:len(heads)])
	}
	if len(rows) == 0 {
		h.paragraph(1, "No trains are booked.")
		return
	}
	h.rows(heads, shares, rows)
}

// run is where a train goes, and what the owner has done with it.
func (h *hung) run(w block.Working) string {
	words := h.name(w.From) + " to " + h.name(w.To)
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

// spoken writes the booked times of a point.
func spoken(p block.PointTime) string {
	var all []string
	for _, t := range []struct {
		word string
		at   int
	}{{"a", p.Arrive}, {"", p.Pass}, {"d", p.Depart}} {
		if t.at < 0 {
			continue
		}
		half := ""
		if t.at%60 >= 30 {
			half = "½"
		}
		all = append(all, strings.TrimSpace(fmt.Sprintf("%s %d.%02d%s", t.word, t.at/3600, t.at/60%60, half)))
	}
	return strings.Join(all, ", ")
}
