package paper

import (
	"slices"
	"strings"

	"taillamp/block"
)

// codes is the card of bell codes: only those that the box needs, the trains first. What is called attention for and
// what is not stand apart, so that nobody has to look across. Large sheets are set to be read from a metre and a half:
// the capitals of the smallest type are 3.6 mm high, eight minutes of arc, where five can just be made out (ISO 8596).
func (h *hung) codes() {
	var done []*block.CodeBook
	for _, c := range h.circuits() {
		if slices.Contains(done, c.Book) {
			continue
		}
		done = append(done, c.Book)
		var trains, called, straight []block.Code
		for _, code := range c.Book.Codes {
			switch {
			case !h.needs(c.Book, code):
			case code.Train:
				trains = append(trains, code)
			case code.Attention:
				called = append(called, code)
			default:
				straight = append(straight, code)
			}
		}
		h.begin("BELL CODES")
		h.font("Times", "I", h.points(12, 10))
		h.middle(c.Book.Title, h.y-3.5)
		h.y += h.points(5, 3)
		h.signals("Is line clear for …?", trains)
		h.signals("Without calling attention", straight)
		h.signals("After calling attention", called)
	}
}

// signal is one line of a card: beats, and all that they mean.
type signal struct {
	beats string
	means []string // as it is broken into lines
}

// signals prints one group of codes under its heading. A group goes on one sheet, if any sheet is large enough for it, so
// that nobody looks for the rest of it elsewhere.
func (h *hung) signals(head string, codes []block.Code) {
	big, size, left := h.points(18, 13), h.points(14, 10.5), h.points(34, 27)
	step := leading(size)
	const under = 1.9 // from a line of words to the rule below it, and from that on
	group := h.group(codes, size, h.wide-2*edge-left-1)
	whole := 3 * step
	for _, g := range group {
		whole += float64(len(g.means))*step + under
	}
	heading := func() {
		h.font("Helvetica", "B", h.points(12, 10))
		h.pdf.Text(edge+1, h.y, h.latin(head))
		h.pdf.SetLineWidth(0.5)
		h.pdf.Line(edge, h.y+under, h.wide-edge, h.y+under)
		h.y += under + step + 1.2
	}
	for i, g := range group {
		need := float64(len(g.means)) * step
		if i == 0 {
			h.room(min(whole, h.sheetRoom()))
			heading()
		} else if h.room(need) {
			heading()
		}
		h.font("Helvetica", "B", big)
		h.pdf.Text(edge+1, h.y, h.latin(g.beats))
		h.font("Helvetica", "", size)
		for _, words := range g.means {
			h.pdf.Text(edge+left, h.y, words)
			h.y += step
		}
		h.pdf.SetLineWidth(0.1)
		h.pdf.Line(edge, h.y-step+under, h.wide-edge, h.y-step+under)
		h.y += under
	}
	if len(group) > 0 {
		h.y += h.points(7, 5)
	}
}

// group makes lines of codes. Where one code means two things both stand in one place.
func (h *hung) group(codes []block.Code, size, wide float64) []signal {
	var all []signal
	h.font("Helvetica", "", size)
	for i, c := range codes {
		same := func(o block.Code) bool { return o.Beats.Equal(c.Beats) }
		if slices.ContainsFunc(codes[:i], same) {
			continue
		}
		means := strings.TrimSpace(c.Class + "  " + c.Means)
		for _, o := range codes[i+1:] {
			if same(o) {
				means += "; " + o.Means
			}
		}
		all = append(all, signal{c.Beats.String(), h.folded(means, wide)})
	}
	return all
}

// needs tells whether the box has a use for a code: a class of train that comes to it by the sequence, a signal of a
// token where it has one, what its card authorises.
func (h *hung) needs(book *block.CodeBook, code block.Code) bool {
	if code.Train {
		return h.comes(code)
	}
	mine := func(is func(c block.Circuit) bool) bool {
		return slices.ContainsFunc(h.circuits(), func(c block.Circuit) bool { return c.Book == book && is(c) })
	}
	switch code.Key {
	case "release-token", "token-replaced", "token-out":
		return mine(func(c block.Circuit) bool {
			return c.Method == "token" || c.Method == "tablet" || c.Method == "electricStaff"
		})
	case "warning", "now-clear":
		return h.authorised("warning from ")
	case "shunt-forward", "shunt-withdrawn":
		return h.authorised("forward shunt toward ")
	case "line-occupied":
		return mine(func(c block.Circuit) bool {
			return slices.ContainsFunc(c.Sections, func(s block.Section) bool { return s.Method == "permissive" })
		})
	case "closing", "opening", "closing-locked":
		return h.box.Switch || mine(func(c block.Circuit) bool {
			b, _ := h.r.Box(h.other(c))
			return b.Switch
		})
	}
	return true
}

// authorised tells whether something stands on the card of the box, or on a neighbour's toward this one: the signal is
// rung by one of the two and heard by the other.
func (h *hung) authorised(what string) bool {
	if slices.ContainsFunc(h.box.Authorise, func(a string) bool { return strings.HasPrefix(a, what) }) {
		return true
	}
	return slices.ContainsFunc(h.circuits(), func(c block.Circuit) bool {
		b, _ := h.r.Box(h.other(c))
		return slices.ContainsFunc(b.Authorise, func(a string) bool {
			toward, ok := strings.CutPrefix(a, what)
			return ok && strings.Fields(toward)[0] == string(h.box.ID)
		})
	})
}

// comes tells whether a train of a class comes to the box by the sequence, if only while the box is open. Without a sequence any may.
func (h *hung) comes(code block.Code) bool {
	all := h.trains
	if len(all) == 0 {
		return true
	}
	return slices.ContainsFunc(all, func(w block.Working) bool { return w.Code.Equal(code.Beats) && (h.calls(w) >= 0 || h.passes(w) >= 0) })
}

// calls is the place of the box among the points of a train; −1: it does not come here.
func (h *hung) calls(w block.Working) int {
	return slices.IndexFunc(w.Calls, func(p block.PointTime) bool { return p.Box == h.box.ID })
}

// passes is, of a train that is booked from one box to another over this one, as it runs while this one is switched out,
// the place of the box that it comes from; −1: it does not run past here.
func (h *hung) passes(w block.Working) int {
	for n := 1; n < len(w.Calls); n++ {
		from, to := w.Calls[n-1].Box, w.Calls[n].Box
		for _, c := range h.r.Circuits() {
			if slices.Contains(c.Boxes[:], from) && slices.Contains(c.Boxes[:], to) && slices.Contains(c.Over, h.box.ID) {
				return n - 1
			}
		}
	}
	return -1
}
