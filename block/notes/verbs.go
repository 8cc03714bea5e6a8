package notes

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"taillamp/block"
)

// verbs reads the words of a fact and makes its events.
func (p *parser) verbs(words []word) error {
	words, by := byLine(words)
	for _, f := range p.forms {
		if got, ok := f.match(words); ok {
			if by != "" {
				got["BY"] = word{text: by}
			}
			return f.make(p, got)
		}
	}
	return fmt.Errorf("%q says nothing these notes know; write it as UL rings OS 3-1, OS turns UL clear, train 1 leaves UL for OS, …", join(words))
}

// byLine takes "by LINE" off the end.
func byLine(words []word) ([]word, string) {
	for i := len(words) - 2; i > 0; i-- {
		if words[i].text == "by" && !words[i].quoted {
			return words[:i], join(words[i+1:])
		}
	}
	return words, ""
}

// factForms are the lines that say what happened. A test holds them and the kinds of act together.
func factForms() []form {
	var out []form
	add := func(pattern string, make func(*parser, map[string]word) error) {
		out = append(out, form{strings.Fields(pattern), make})
	}
	add("A rings B CODE", ring(false))
	add("A rings B CODE held", ring(true))
	for _, show := range []block.Aspect{block.Clear, block.Occupied, block.Blocked} {
		add("B turns A "+string(show), turn(show))
	}
	add("A pulls starter for B", lever(false))
	add("A restores starter for B", lever(true))
	add("B pulls home for A", home(false))
	add("B restores home for A", home(true))
	add("A collars B", collar(false))
	add("A uncollars B", collar(true))
	add("B uses release for A", line(block.Event{Do: block.Release}, "A", "B"))
	add("B fouls A inside", foul(block.Inside))
	add("B fouls A inside moving", foul(block.Moving))
	add("B fouls A outside", foul(block.Outside))
	add("B frees A", line(block.Event{Do: block.Foul, Off: true}, "A", "B"))
	addTrains(add)
	addSequence(add)
	addDuty(add)
	addTokens(add)
	addPilotman(add)
	return out
}

func addTrains(add func(string, func(*parser, map[string]word) error)) {
	add("train N leaves A for B", leaves)
	add("train N stands at B", seen(block.Stands, ""))
	add("train N heads past B", seen(block.Heads, ""))
	add("train N passes B complete", seen(block.Passes, block.LampSeen))
	add("train N passes B without lamp", seen(block.Passes, block.LampMissing))
	add("train N passes B with lamp out", seen(block.Passes, block.LampOut))
	add("train N arrives at B complete", seen(block.Arrives, block.LampSeen))
	add("train N arrives at B without lamp", seen(block.Arrives, block.LampMissing))
	add("train N is clear at B", seen(block.IsClear, ""))
	add("train N returns to B complete", seen(block.Returns, ""))
	add("train N returns to B in part", func(p *parser, g map[string]word) error { return p.sighting(g, block.Returns, "", true) })
	add("train N divides", truth(block.Divides))
	add("train N is found complete", truth(block.IsWhole))
	add("B hears train N complete", func(p *parser, g map[string]word) error {
		p.seen.lamps = true
		return p.atBox(g["B"].text, block.Event{Do: block.Told, Train: block.TrainID(g["N"].text)})
	})
	for _, d := range []struct {
		verb  string
		where block.Place
	}{{"stops", block.Stopped}, {"cautions", block.Warned}} {
		add("A "+d.verb+" train N", func(p *parser, g map[string]word) error {
			p.seen.cautions = true
			return p.atBox(g["A"].text, block.Event{Do: block.Driver, Train: block.TrainID(g["N"].text), Where: d.where})
		})
	}
}

func addDuty(add func(string, func(*parser, map[string]word) error)) {
	duty := func(e block.Event) func(*parser, map[string]word) error {
		return func(p *parser, g map[string]word) error {
			p.signsOn(g["A"].text)
			return p.atBox(g["A"].text, e)
		}
	}
	add("A takes duty", duty(block.Event{Do: block.Duty}))
	add("A leaves duty", duty(block.Event{Do: block.Duty, Off: true}))
	open := func(off bool) func(*parser, map[string]word) error {
		return func(p *parser, g map[string]word) error {
			return p.atBox(g["A"].text, block.Event{Do: block.Switch, Off: off})
		}
	}
	add("A opens", open(false))
	add("A closes", open(true))
	add("A remarks WORDS", func(p *parser, g map[string]word) error {
		return p.atBox(g["A"].text, block.Event{Do: block.Remark, Words: g["WORDS"].text})
	})
	add("A tells B WORDS", call)
	add("A strikes out N", strikeOut)
	add("clock A SPAN", func(p *parser, g map[string]word) error { return p.clock(g["A"].text, g["SPAN"].text) })
	for _, f := range []struct {
		verb string
		off  bool
	}{{"break", false}, {"mend", true}} {
		for _, what := range []struct {
			name  string
			where block.Place
		}{{"bell", block.AtBell}, {"indicator", block.AtNeedle}, {"telephone", block.AtPhone}} {
			add(f.verb+" "+what.name+" A B", func(p *parser, g map[string]word) error {
				c, err := p.district.circuit(g["A"].text, g["B"].text, g["BY"].text)
				if err != nil {
					return err
				}
				p.add(block.Event{Do: block.Fault, Circuit: c.ID, Where: what.where, Off: f.off})
				return nil
			})
		}
	}
}

func addTokens(add func(string, func(*parser, map[string]word) error)) {
	token := func(where block.Place) func(*parser, map[string]word) error {
		return func(p *parser, g map[string]word) error {
			s, err := p.district.single(g["A"].text, g["B"].text, g["BY"].text)
			if err != nil {
				return err
			}
			return p.atBox(g["A"].text, block.Event{Do: block.Token, Section: s.ID, Where: where, Train: block.TrainID(g["N"].text),
				Words: g["NO"].text})
		}
	}
	add("A draws token for B", token(block.Drawn))
	add("A restores token of B", token(block.Restored))
	add("A hands token of B to train N", token(block.Handed))
	add("train N gives token of B to A", token(block.GivenUp))
	add("A gives lineman tokens of B NO", token(block.Taken))
	add("A takes lineman's tokens of B NO", token(block.Put))
	add("A hears train N shut in for B", token(block.ShutIn))
	add("A lets train N out of siding to B", token(block.LetOut))
	add("A hands staff of B to train N", token(block.Handed))
	add("train N gives staff of B to A", token(block.GivenUp))
	add("A sends staff of B on foot", token(block.Walked))
	add("A shows staff of B to train N", token(block.ShownTo))
	add("A unlocks tickets for B", token(block.Unlocked))
	add("A locks tickets for B", func(p *parser, g map[string]word) error {
		s, err := p.district.single(g["A"].text, g["B"].text, g["BY"].text)
		if err != nil {
			return err
		}
		return p.atBox(g["A"].text, block.Event{Do: block.Token, Section: s.ID, Where: block.Unlocked, Off: true})
	})
	add("A issues ticket NO for B to train N", token(block.Issued))
	add("train N gives ticket NO of B to A", token(block.Spent))
}

// parseBeats reads a code; what is wrong with it is said as notes say things.
func parseBeats(code string) (block.Beats, error) {
	beats, err := block.ParseBeats(code)
	if err != nil {
		return nil, errors.New(strings.TrimPrefix(err.Error(), block.ErrNotBeats.Error()+": "))
	}
	return beats, nil
}

func ring(held bool) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		beats, err := parseBeats(g["CODE"].text)
		if err != nil {
			return err
		}
		c, err := p.district.circuit(g["A"].text, g["B"].text, g["BY"].text)
		if err != nil {
			return err
		}
		if err := p.atBox(g["A"].text, block.Event{Do: block.Rung, Circuit: c.ID, Beats: beats}); err != nil {
			return err
		}
		if held {
			return p.atBox(g["A"].text, block.Event{Do: block.Hold, Circuit: c.ID})
		}
		return nil
	}
}

// line makes an event on the line from one box to another, by the box in advance.
func line(e block.Event, from, to string) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		s, err := p.district.section(g[from].text, g[to].text, g["BY"].text)
		if err != nil {
			return err
		}
		f := e
		f.Section = s.ID
		return p.atBox(g[to].text, f)
	}
}

func turn(show block.Aspect) func(*parser, map[string]word) error {
	return line(block.Event{Do: block.Turn, Show: show}, "A", "B")
}

func foul(where block.Place) func(*parser, map[string]word) error {
	return line(block.Event{Do: block.Foul, Where: where}, "A", "B")
}

func lever(back bool) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		p.seen.levers = true
		s, err := p.district.section(g["A"].text, g["B"].text, g["BY"].text)
		if err != nil {
			return err
		}
		return p.atBox(g["A"].text, block.Event{Do: block.Lever, Section: s.ID, Off: back})
	}
}

func home(back bool) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		s, err := p.district.section(g["A"].text, g["B"].text, g["BY"].text)
		if err != nil {
			return err
		}
		return p.atBox(g["B"].text, block.Event{Do: block.Lever, Section: s.ID, Off: back})
	}
}

func collar(off bool) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		p.seen.collars = true
		c, err := p.district.circuit(g["A"].text, g["B"].text, g["BY"].text)
		if err != nil {
			return err
		}
		return p.atBox(g["A"].text, block.Event{Do: block.Collar, Circuit: c.ID, Off: off})
	}
}

func leaves(p *parser, g map[string]word) error {
	p.seen.lamps = true
	s, err := p.district.section(g["A"].text, g["B"].text, g["BY"].text)
	if err != nil {
		return err
	}
	return p.atBox(g["A"].text, block.Event{Do: block.Train, Section: s.ID, Where: block.Leaves, Train: block.TrainID(g["N"].text)})
}

func seen(where block.Place, lamp block.Lamp) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error { return p.sighting(g, where, lamp, false) }
}

// sighting is a train seen at a box. The line is where the train is, unless the notes name it.
func (p *parser) sighting(g map[string]word, where block.Place, lamp block.Lamp, part bool) error {
	p.seen.lamps = true
	e := block.Event{Do: block.Train, Where: where, Lamp: lamp, Off: part, Train: block.TrainID(g["N"].text)}
	if by, ok := g["BY"]; ok {
		s, err := p.district.toward(g["B"].text, by.text)
		if err != nil {
			return err
		}
		e.Section = s.ID
	}
	return p.atBox(g["B"].text, e)
}

// truth is a fact that no box can see.
func truth(where block.Place) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		p.add(block.Event{Do: block.Train, Where: where, Train: block.TrainID(g["N"].text)})
		return nil
	}
}

func call(p *parser, g map[string]word) error {
	c, err := p.district.circuit(g["A"].text, g["B"].text, g["BY"].text)
	if err != nil {
		return err
	}
	return p.atBox(g["A"].text, block.Event{Do: block.Call, Circuit: c.ID, Words: g["WORDS"].text})
}

// strikeOut rules through what an earlier line of the notes put into the box's book.
func strikeOut(p *parser, g map[string]word) error {
	n, err := strconv.Atoi(g["N"].text)
	if err != nil {
		return fmt.Errorf("%q is no line; write the number of the line that is ruled through", g["N"].text)
	}
	seq := uint64(1)
	for _, f := range p.facts {
		if f.Line == n {
			return p.atBox(g["A"].text, block.Event{Do: block.Slip, Line: seq + 1})
		}
		seq += uint64(len(f.Events))
	}
	return fmt.Errorf("line %d says nothing that could be ruled through; name an earlier line that does", n)
}

// atBox adds an event of a box, which must be one of the layout's.
func (p *parser) atBox(id string, e block.Event) error {
	if !p.district.has(id) {
		return fmt.Errorf("no box is called %s; the boxes are %s", id, p.header.ids())
	}
	e.By = block.BoxID(id)
	p.add(e)
	return nil
}

func (p *parser) signsOn(id string) {
	if p.duties == nil {
		p.duties = make(map[block.BoxID]bool)
	}
	p.duties[block.BoxID(id)] = true
}

// clock is a box's own clock found to be wrong from that moment on.
func (p *parser) clock(id, by string) error {
	d, err := span(by)
	if err != nil {
		return err
	}
	return p.atBox(id, block.Event{Do: block.Clock, Words: d.String()})
}

// clockAtStart is a clock that was wrong from the beginning.
func (p *parser) clockAtStart(id, by string) error {
	if err := p.header.need(); err != nil {
		return err
	}
	d, err := span(by)
	if err != nil {
		return err
	}
	return p.header.change(id, func(b *block.Box) { b.ClockFast = block.Duration(d) })
}

// endHeader makes a district of the header, in which the facts then name boxes and lines.
func (p *parser) endHeader() error {
	if err := p.header.need(); err != nil {
		return err
	}
	h := p.header.record()
	rules, err := h.Rules()
	if err != nil {
		return err
	}
	p.district = newDistrict(rules)
	return nil
}

// district finds circuits and lines by the boxes they join.
type district struct {
	circuits []block.Circuit
	boxes    []block.BoxID
}

func newDistrict(r *block.Rules) *district {
	d := &district{circuits: r.Circuits()}
	for _, b := range r.Layout().Boxes {
		d.boxes = append(d.boxes, b.ID)
	}
	return d
}

func (d *district) has(id string) bool { return slices.Contains(d.boxes, block.BoxID(id)) }

// unknown is a box that the layout does not have.
func (d *district) unknown(id string) error {
	var ids []string
	for _, b := range d.boxes {
		ids = append(ids, string(b))
	}
	return fmt.Errorf("no box is called %s; the boxes are %s", id, strings.Join(ids, " "))
}

// circuit finds the bells between two boxes.
func (d *district) circuit(a, b, by string) (block.Circuit, error) {
	var first block.Circuit
	for _, c := range d.circuits {
		if !(c.Boxes == [2]block.BoxID{block.BoxID(a), block.BoxID(b)} || c.Boxes == [2]block.BoxID{block.BoxID(b), block.BoxID(a)}) {
			continue
		}
		if by == "" {
			if first.ID == "" {
				first = c
			}
			continue
		}
		if slices.ContainsFunc(c.Sections, func(s block.Section) bool { return named(s.Line, by) }) {
			return c, nil
		}
	}
	switch {
	case !d.has(a):
		return first, d.unknown(a)
	case !d.has(b):
		return first, d.unknown(b)
	case by != "":
		return first, fmt.Errorf("no line between %s and %s is called %s; name one as the layout does", a, b, by)
	case first.ID == "":
		return first, fmt.Errorf("%s and %s do not work together; name neighbours, or boxes with none but switched boxes between", a, b)
	}
	return first, nil
}

// section finds the line from one box to another.
func (d *district) section(from, to, by string) (block.Section, error) {
	c, err := d.circuit(from, to, by)
	if err != nil {
		return block.Section{}, err
	}
	for _, s := range c.Sections {
		ours := s.Rear == block.BoxID(from) && s.Advance == block.BoxID(to) || s.Way == "both"
		if ours && (by == "" || named(s.Line, by)) {
			return s, nil
		}
	}
	return block.Section{}, fmt.Errorf("no line runs from %s to %s; name two boxes in the order in which trains pass them", from, to)
}

// single finds the single line between two boxes.
func (d *district) single(a, b, by string) (block.Section, error) {
	for _, c := range d.circuits {
		for _, s := range c.Sections {
			joined := s.Rear == block.BoxID(a) && s.Advance == block.BoxID(b) || s.Rear == block.BoxID(b) && s.Advance == block.BoxID(a)
			if joined && s.Way == "both" && (by == "" || named(s.Line, by)) {
				return s, nil
			}
		}
	}
	return block.Section{}, fmt.Errorf("no single line joins %s and %s; tokens belong to one", a, b)
}

// toward finds the line of that name on which trains come to a box.
func (d *district) toward(id, by string) (block.Section, error) {
	for _, c := range d.circuits {
		for _, s := range c.Sections {
			if (s.Advance == block.BoxID(id) || s.Way == "both" && s.Rear == block.BoxID(id)) && named(s.Line, by) {
				return s, nil
			}
		}
	}
	return block.Section{}, fmt.Errorf("no line called %s comes to %s; name one as the layout does", by, id)
}

// named tells whether a line is meant: by its name, its initials, or a word of it.
func named(lineName, said string) bool {
	if strings.EqualFold(lineName, said) {
		return true
	}
	var initials strings.Builder
	for _, w := range strings.Fields(lineName) {
		initials.WriteByte(w[0])
		if strings.EqualFold(w, said) {
			return true
		}
	}
	return strings.EqualFold(initials.String(), said)
}
