package block

// tokensOf fills in where the tokens of a line are.
func (r *Rules) tokensOf(out *LineState, p *circuitPlan, t *talk) {
	tk := &t.token
	id := func(x int) BoxID { return r.boxes[p.boxes[x]].ID }
	out.Token = TokenState{In: map[BoxID]int{id(downEnd): tk.in[downEnd], id(upEnd): tk.in[upEnd]}, Out: tk.out, Shunt: tk.shunt}
	if tk.out {
		out.Token.Box, out.Token.Train = id(tk.with), tk.holder
	}
	out.Signal = tk.signal[downEnd] || tk.signal[upEnd]
	for x := range tk.foul {
		if tk.foul[x] != "" {
			out.Foul = tk.foul[x]
		}
		out.OutTold = out.OutTold || tk.blocked[x] == bound
	}
}

// tokenView fills in the single line as the box at end x has it before him.
func (r *Rules) tokenView(v *LineView, p *circuitPlan, c *circuitState, x int) {
	t := c.talk
	ln, tk, y := &t.lines[singleLine], &t.token, 1-x
	all := !tk.out && !ln.broken
	v.Token = &TokenView{Kind: p.kind, Shows: tk.word(ln, x), Here: tk.in[x], Out: tk.out,
		Release: all && c.keys[y].held, Holding: all && c.keys[x].held,
		Mine: ln.stands != idle && tk.from == x, Shunt: tk.asked[x] == bound || tk.asked[y] == bound, Asks: tk.asked[x] == bound,
		Failed: tk.failed, Bagged: tk.bagged, Siding: tk.siding,
		Back: !tk.out && tk.used && (ln.stands >= acc || tk.asked != [2]stage{})}
	switch {
	case !tk.out:
	case !tk.carried && tk.with == x:
		v.Token.Hand = "box"
	case tk.carried && tk.with == x:
		v.Token.Hand, v.Token.Train = "train", tk.holder
	default:
		v.Token.Hand = "away"
	}
	single(v, ln, tk, x)
}

// word is what the indicator at end x says. It is worked by hand and by the token together: after the token has come
// home, the other end still shows its train until the bells have said the rest (T6, T3r).
func (tk *tokenState) word(ln *line, x int) TokenWord {
	switch {
	case tk.out && tk.shunt:
		return TokenGone
	case tk.out && tk.drawn == x:
		return GoingTo
	case tk.out:
		return ComingFrom
	case !tk.used || ln.stands < acc || tk.with == x:
		return TokenIn
	case tk.from == x:
		return GoingTo
	}
	return ComingFrom
}
