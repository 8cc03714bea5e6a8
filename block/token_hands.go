package block

// hold is the bell key at end x kept down on the last beat, which gives the other end its release, or let go: E3.
// With a token out no release can be given.
func (keyToken) hold(w *work, x int, down bool) error {
	if !down {
		return nil
	}
	switch {
	case w.t.lines[singleLine].broken:
		w.foundFailed()
		return nil
	case w.t.token.out:
		w.refuse(TokenOut)
		return nil
	}
	if w.t.token.siding > 0 && w.t.lines[singleLine].stands == idle {
		return nil // for a train that wants to leave the siding: its man has telephoned
	}
	if w.releasedUnasked(x) {
		w.breaks("TK-03", x, singleLine, w.e.At)
	}
	return nil
}

// token works a token drawn, restored, handed to a train or given up by one, at the box at end x.
func (keyToken) token(w *work, x int) error {
	switch w.e.Where {
	case Drawn:
		return w.draw(x)
	case Restored:
		return w.restore(x)
	case Handed:
		return w.hand(x)
	case GivenUp:
		return w.receive(x)
	case Taken:
		return w.linemanTakes(x)
	case Put:
		return w.linemanPuts(x)
	case ShutIn:
		return w.shutIn(x)
	case LetOut:
		return w.letOut(x)
	}
	return ErrNoSense
}

// draw takes a token out of the instrument at end x, if every token of the section is in and the other end gives the
// release: E5.
func (w *work) draw(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	switch {
	case ln.broken:
		w.foundFailed()
	case tk.out || tk.bagged > 0:
		w.refuse(TokenOut)
	case !w.held[1-x]:
		w.refuse(NoRelease)
	case tk.in[x] == 0:
		w.refuse(NoToken)
	default:
		tk.in[x]--
		tk.out, tk.used, tk.drawn, tk.with, tk.moved = true, true, x, x, w.e.At
		tk.carried, tk.holder, tk.told, tk.pulled = false, "", false, false
		tk.shunt = tk.asked[x] == bound
		w.movedToken(x, "")
	}
	return nil
}

// restore puts the token that the box at end x has in its hand into its instrument: E12, E13.
func (w *work) restore(x int) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if !tk.out || !w.mayHaveToken(x) {
		if w.hasOther(x) {
			w.refuse(WrongToken)
			return nil
		}
		return ErrNoToken
	}
	if ln.broken {
		w.foundFailed()
		return nil
	}
	if w.r.sections[w.p.sections[singleLine]].OneWay && tk.drawn == x {
		w.refuse(WrongEnd)
		return nil
	}
	if w.restoredTooSoon(x) {
		w.breaks("TK-09", x, singleLine, w.e.At)
	}
	tk.in[x]++
	tk.out, tk.shunt, tk.carried, tk.holder, tk.with, tk.moved = false, false, false, "", x, w.e.At
	w.movedToken(x, "")
	return nil
}

// mayHaveToken tells whether the token that is out can be in the hand of the box at end x: there it was left, or it went
// with a train that by bell has come here and nobody marked the giving up.
func (w *work) mayHaveToken(x int) bool {
	tk := &w.t.token
	if tk.with == x {
		return true
	}
	left := !tk.carried && tk.drawn != tk.with // the other box has had it from a train
	return !left && tk.from != x && w.t.lines[singleLine].stands >= ent
}

// hasOther tells whether the box at end x has a token of another section in its hand: it does not fit here.
func (w *work) hasOther(x int) bool {
	for _, n := range w.r.boxes[w.p.boxes[x]].circuits {
		p := &w.r.circuits[n]
		tk := &w.s.circuits[n].talk.token
		if p.id != w.p.id && tk.out && !tk.carried && tk.with == p.end(w.p.boxes[x]) {
			return true
		}
	}
	return false
}

// hand gives the token to a train: E8. Only the box that has it can.
func (w *work) hand(x int) error {
	tk := &w.t.token
	if !tk.out || tk.carried || tk.with != x {
		return ErrNoToken
	}
	tk.carried, tk.holder, tk.moved = true, w.e.Train, w.e.At
	w.movedToken(x, w.e.Train)
	return nil
}

// receive takes the token from the train that has it: E11.
func (w *work) receive(x int) error {
	tk := &w.t.token
	named := w.e.Train != "" && tk.holder != ""
	if !tk.out || !tk.carried || named && w.e.Train != tk.holder {
		return ErrNoToken
	}
	tk.carried, tk.holder, tk.with, tk.moved = false, "", x, w.e.At
	w.movedToken(x, "")
	return nil
}

// movedToken tells where the token is now: in the instrument of that box, in its hand, or with a train.
func (w *work) movedToken(x int, train TrainID) {
	w.change(Change{Token: &Moved{Section: w.section(singleLine), Box: w.id(x), Out: w.t.token.out, Train: train}})
}

// lever is the section signal at end x pulled or put back: E7. Where signals are locked at all, it is the token drawn at
// that end that frees it; with the full interlocking, for one pull.
func (keyToken) lever(w *work, x, _ int, back bool) error {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	mine := tk.out && tk.drawn == x
	if !back {
		locked := w.p.level == Sequential || w.p.level == Interlocked
		switch {
		case ln.collar[x]:
			w.refuse(Collared)
			return nil
		case locked && !mine:
			w.refuse(NotDrawn)
			return nil
		case w.p.level == Interlocked && tk.pulled:
			w.refuse(AlreadyUsed)
			return nil
		}
		if !w.t.pilot.inForce() && signalClearedWithoutToken(ln, tk, x) {
			w.breaks("TK-06", x, singleLine, w.e.At)
		}
		tk.pulled = tk.pulled || mine
	}
	tk.signal[x] = !back
	w.change(Change{Lever: &Pulled{Section: w.section(singleLine), Off: !back}})
	return nil
}

// foundFailed is an instrument tried that has failed. The box tells the other by telephone: both know from now.
func (w *work) foundFailed() {
	w.refuse(Failed)
	if tk := &w.t.token; tk.failed.IsZero() {
		tk.failed = w.e.At
	}
}
