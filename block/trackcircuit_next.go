package block

// describes is the work of a desk on the fringe of a track-circuited line: what the other end rings is repeated, and each
// train that is to go is described once.
func (d *desk) describes() {
	if d.i.Called == d.i.To {
		d.add(Advice{Beats: Beats{1}, Key: callAttention, Answers: true, Since: d.i.CalledAt, Why: "He called attention: answer with one beat."})
		return
	}
	for _, w := range append(d.i.Waiting[:len(d.i.Waiting):len(d.i.Waiting)], d.i.Offers...) {
		if w.By == d.i.To {
			d.add(Advice{Beats: d.answer(w), Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First,
				Why: "He rang " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it."})
			return
		}
	}
	if d.i.Has == d.i.To && d.v.At.Sub(d.i.HasSince) < AskAgain || d.waits() {
		return
	}
	for _, s := range d.v.Sends {
		l := d.line(s.Section)
		if l == nil || l.ToMe || s.From.After(d.v.At) || l.Standing != "IDLE" || d.open(l) != nil {
			continue
		}
		if !d.hasWord() {
			d.calls(l, "You have a train to describe: call attention.")
			return
		}
		key, _ := d.classOf(s.Beats)
		d.add(Advice{Beats: s.Beats, Key: key, Section: l.Section, Train: s.Train, Since: s.From, Why: "Describe the train to him: " + d.means(key) + "."})
		return
	}
	d.saysOther()
}
