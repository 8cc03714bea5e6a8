package block

import "strings"

// The lineman evens out the tokens of two instruments when they have piled up at one end (other-methods reference, 2.8 and
// E21): he takes some out with nothing signalled, enters their numbers, and the other end compares them and sees them all
// put in. While they are in his bag not all tokens are in, and none can be drawn.

// linemanTakes is tokens taken out at end x; Words are their numbers.
func (w *work) linemanTakes(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	n := len(strings.Fields(w.e.Words))
	switch {
	case n == 0:
		return ErrNoSense
	case tk.bagged > 0 || tk.in[x] < n:
		return ErrNoToken
	case tk.out:
		w.refuse(TokenOut)
		return nil
	}
	if ln.stands != idle || w.taken() {
		w.breaks("TK-12", x, singleLine, w.e.At)
	}
	tk.in[x] -= n
	tk.bagged, tk.away = n, w.e.Words
	w.movedToken(x, "")
	return nil
}

// linemanPuts is the same tokens put in at end x. Numbers that do not agree are TK-12.
func (w *work) linemanPuts(x int) error {
	tk := &w.t.token
	n := len(strings.Fields(w.e.Words))
	if n == 0 || tk.bagged == 0 {
		return ErrNoToken
	}
	if w.e.Words != tk.away {
		w.breaks("TK-12", x, singleLine, w.e.At)
	}
	tk.in[x] += tk.bagged // that many there are, whatever was written
	tk.bagged, tk.away = 0, ""
	w.movedToken(x, "")
	return nil
}

// A siding between two token boxes may have an instrument of its own (reference, 2.6): with its train inside and the
// points normal its token goes in there, all tokens are in again, and other trains may pass. The man there telephones; what
// he says is the act of the box that hears it.

// shutIn is a train that has gone inside, its token in the siding's instrument: I0. TK-09 if nobody has said that the whole
// of it is clear.
func (w *work) shutIn(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	i := ln.train(w.e.Train)
	switch {
	case w.siding() == "":
		return ErrNoInstrument
	case !tk.out || !tk.carried || i < 0:
		return ErrNoToken
	}
	o := ln.change(i)
	if !o.told {
		w.breaks("TK-09", x, singleLine, w.e.At)
	}
	tk.out, tk.carried, tk.holder, tk.moved = false, false, "", w.e.At
	tk.siding++
	o.seen, o.at = IsClear, w.e.At
	w.surely(ln)
	w.movedToken(x, w.e.Train)
	return nil
}

// letOut is a token drawn at the siding for a train that goes to the end opposite x, whose box has heard of it; one of
// the ends gives the release. It is at once a train in the section for the end that it goes to.
func (w *work) letOut(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	switch {
	case w.siding() == "" || w.e.Train == "":
		return ErrNoInstrument
	case tk.siding == 0:
		w.refuse(NoToken)
		return nil
	case tk.out || tk.bagged > 0:
		w.refuse(TokenOut)
		return nil
	case !w.held[0] && !w.held[1]:
		w.refuse(NoRelease)
		return nil
	}
	if ln.stands != idle && ln.stands != off {
		w.breaks("TK-02", x, singleLine, w.e.At)
	}
	tk.siding--
	tk.out, tk.used, tk.carried, tk.holder, tk.drawn, tk.with, tk.moved = true, true, true, w.e.Train, x, x, w.e.At
	tk.from, ln.stands, ln.entered = x, lin, w.e.At
	ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], occupant{id: w.e.Train, from: x, left: w.e.At, two: w.e.At, accepted: true})
	w.movedToken(x, w.e.Train)
	return nil
}

// siding is the name of the siding between that has an instrument; empty if there is none.
func (w *work) siding() string { return w.r.sections[w.p.sections[singleLine]].Siding }
