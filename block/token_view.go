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
