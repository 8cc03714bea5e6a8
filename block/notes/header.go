package notes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
)

// header is the header as it is being read: a layout in the making.
type header struct {
	line   int // of the layout or boxes line
	layout *block.Layout
	base   block.Header // of a named layout: its books and sequence
	set    map[string]bool
	trains []string // "4,1-3-1": rows of a sequence of our own
}

func newHeader() *header { return &header{set: make(map[string]bool)} }

// A mile and a quarter of a mile: what a bare double line has until the notes say otherwise.
const (
	bareSection  block.Yards = 1760
	bareClearing block.Yards = 440
)

// headerLine reads a line of the header. It returns false if the line is none.
func (p *parser) headerLine(words []word) (bool, error) {
	for _, f := range headerForms() {
		if got, ok := f.match(words); ok {
			return true, f.make(p, got)
		}
	}
	switch h := p.header; words[0].text {
	case "boxes":
		return true, h.boxes(words[1:], p.line)
	case "method":
		return true, h.method(words[1:])
	case "authorise":
		return true, h.authorise(words[1:])
	}
	return false, nil
}

// headerForms are the lines of a header that have one fixed shape.
func headerForms() []form {
	fields := strings.Fields
	return []form{
		{fields("layout NAME"), func(p *parser, g map[string]word) error { return p.named(g["NAME"].text) }},
		{fields("book NAME"), func(p *parser, g map[string]word) error { return p.header.book(g["NAME"].text) }},
		{fields("level NAME"), func(p *parser, g map[string]word) error { return p.header.level(g["NAME"].text) }},
		{fields("section A B N yd"), func(p *parser, g map[string]word) error {
			return p.header.section(g["A"].text, g["B"].text, g["N"].text)
		}},
		{fields("clearing A N yd"), func(p *parser, g map[string]word) error {
			return p.header.clearing(g["A"].text, g["N"].text)
		}},
		{fields("accepts A NAME"), func(p *parser, g map[string]word) error {
			return p.header.accepts(g["A"].text, g["NAME"].text)
		}},
		{fields("switch A"), func(p *parser, g map[string]word) error {
			return p.header.change(g["A"].text, func(b *block.Box) { b.Switch = true })
		}},
		{fields("out A"), func(p *parser, g map[string]word) error {
			return p.header.change(g["A"].text, func(b *block.Box) { b.Switch, b.Out = true, true })
		}},
		{fields("yard A roads N"), func(p *parser, g map[string]word) error { return p.header.yard(g["A"].text, g["N"].text) }},
		{fields("set NAME VALUE"), func(p *parser, g map[string]word) error {
			return p.header.setting(g["NAME"].text, g["VALUE"].text)
		}},
		{fields("train N is CODE"), func(p *parser, g map[string]word) error {
			return p.header.train(g["N"].text, g["CODE"].text)
		}},
		{fields("clock A SPAN"), func(p *parser, g map[string]word) error { return p.clockAtStart(g["A"].text, g["SPAN"].text) }},
	}
}

// named begins with a layout that the program or the reader's files know.
func (p *parser) named(name string) error {
	h, err := block.EmbeddedHeader(name)
	if err != nil && p.files != nil {
		h, err = p.files(name)
	}
	if err != nil {
		return fmt.Errorf("no layout is called %q; write lathermoor, tiny or the path of a layout file", name)
	}
	l, err := block.ReadLayout([]byte(h.Layout))
	if err != nil {
		return err
	}
	p.header.layout, p.header.base, p.header.line = l, h, p.line
	return nil
}

// boxes makes a bare double line.
func (h *header) boxes(words []word, line int) error {
	if len(words) < 2 {
		return fmt.Errorf("boxes names fewer than two; write their initials in Down order, such as boxes UL OS QU")
	}
	h.line = line
	h.layout = block.BareLayout()
	for i, w := range words {
		id := block.BoxID(w.text)
		if slices.ContainsFunc(h.layout.Boxes, func(b block.Box) bool { return b.ID == id }) {
			return fmt.Errorf("box %s is named twice; name each box once", id)
		}
		h.layout.Boxes = append(h.layout.Boxes, block.BareBox(id, block.Yards(i)*bareSection, bareClearing))
		if i > 0 {
			h.layout.Between = append(h.layout.Between, block.DoubleLine(block.BoxID(words[i-1].text), id, bareSection))
		}
	}
	return nil
}

func (h *header) need() error {
	if h.layout == nil {
		return fmt.Errorf("this line comes before the boxes; begin with layout NAME or boxes and their initials")
	}
	return nil
}

// change alters one box.
func (h *header) change(id string, f func(*block.Box)) error {
	if err := h.need(); err != nil {
		return err
	}
	for i := range h.layout.Boxes {
		if h.layout.Boxes[i].ID == block.BoxID(id) {
			f(&h.layout.Boxes[i])
			return nil
		}
	}
	return fmt.Errorf("no box is called %s; the boxes are %s", id, h.ids())
}

func (h *header) ids() string {
	var ids []string
	for _, b := range h.layout.Boxes {
		ids = append(ids, string(b.ID))
	}
	return strings.Join(ids, " ")
}

func (h *header) book(name string) error {
	if err := h.need(); err != nil {
		return err
	}
	if _, err := block.FindCodeBook(name); err != nil {
		return fmt.Errorf("no code book is called %q; the books are %s", name, strings.Join(block.BookNames(), ", "))
	}
	h.layout.Book = name
	for i := range h.layout.Between {
		h.layout.Between[i].Book = name
	}
	return nil
}

func (h *header) level(name string) error {
	if err := h.need(); err != nil {
		return err
	}
	switch l := block.Level(name); l {
	case block.Free, block.Sequential, block.Interlocked:
		for i := range h.layout.Between {
			h.layout.Between[i].Level = l
		}
		return nil
	}
	return fmt.Errorf("no apparatus level is called %q; it is free, sequential or interlocked", name)
}

func (h *header) section(a, b, yards string) error {
	if err := h.need(); err != nil {
		return err
	}
	n, err := number(yards)
	if err != nil {
		return err
	}
	for i := range h.layout.Between {
		if j := &h.layout.Between[i]; joins(j, a, b) {
			j.Yards = n
			return nil
		}
	}
	return fmt.Errorf("%s and %s are no neighbours; name two boxes that are", a, b)
}

func joins(j *block.Between, a, b string) bool {
	return j.Boxes[0] == block.BoxID(a) && j.Boxes[1] == block.BoxID(b) ||
		j.Boxes[1] == block.BoxID(a) && j.Boxes[0] == block.BoxID(b)
}

func number(s string) (block.Yards, error) {
	n, err := strconv.Atoi(strings.ReplaceAll(s, ",", ""))
	if err != nil || n < 0 {
		return 0, fmt.Errorf("%q is no number of yards; write it as 3520", s)
	}
	return block.Yards(n), nil
}

func (h *header) clearing(id, yards string) error {
	n, err := number(yards)
	if err != nil {
		return err
	}
	return h.change(id, func(b *block.Box) { b.Clearing = n })
}

// accepts is the point that a box's acceptance reaches to: the clearing point, beyond it into the next box's limits and
// only with line clear from there, or the starter.
func (h *header) accepts(id, point string) error {
	switch point {
	case "clearing", "beyond", "starter":
		return h.change(id, func(b *block.Box) { b.Accepts = point })
	}
	return fmt.Errorf("%q is no point that an acceptance reaches to; it is clearing, beyond or starter", point)
}

func (h *header) yard(id, roads string) error {
	n, err := strconv.Atoi(roads)
	if err != nil || n < 1 {
		return fmt.Errorf("%q is no number of roads; write it as 6", roads)
	}
	return h.change(id, func(b *block.Box) { b.Roads = n })
}

// authorise is what stands on a box's card: "warning at OS from UL for goods", "forward shunt at OS toward QU".
func (h *header) authorise(words []word) error {
	text := join(words)
	for _, card := range []struct{ what, toward string }{{"warning at ", " from "}, {"forward shunt at ", " toward "}} {
		rest, ok := strings.CutPrefix(text, card.what)
		if !ok {
			continue
		}
		id, rest, ok := strings.Cut(rest, card.toward)
		if !ok {
			break
		}
		if err := h.change(strings.Fields(rest + " ?")[0], func(*block.Box) {}); err != nil {
			return err
		}
		return h.change(id, func(b *block.Box) {
			b.Authorise = append(b.Authorise, strings.TrimSuffix(card.what, "at ")+strings.TrimPrefix(card.toward, " ")+rest)
		})
	}
	return fmt.Errorf("authorise %s is not understood; write authorise warning at OS from UL for goods, or authorise forward shunt at OS toward QU", text)
}

// method makes one more way of working between two boxes: "token OS TO tokens 10 10".
func (h *header) method(words []word) error {
	if err := h.need(); err != nil {
		return err
	}
	if len(words) < 3 {
		return fmt.Errorf("method names no two boxes; write it as method token OS TO tokens 10 10")
	}
	return block.SetMethod(h.layout, words[0].text, block.BoxID(words[1].text), block.BoxID(words[2].text), texts(words[3:]))
}

func texts(words []word) []string {
	var out []string
	for _, w := range words {
		out = append(out, w.text)
	}
	return out
}

// setting is a setting of the layout, or of what acts the sitting has.
func (h *header) setting(name, value string) error {
	if err := h.need(); err != nil {
		return err
	}
	switch name {
	case "lamps", "levers", "cautions", "collars":
		on, err := onOff(value)
		h.set[name] = on
		return err
	}
	return block.SetSetting(&h.layout.Settings, name, value)
}

func onOff(s string) (bool, error) {
	switch s {
	case "on":
		return true, nil
	case "off":
		return false, nil
	}
	return false, fmt.Errorf("%q is neither on nor off", s)
}

// train gives the class that a train truly has.
func (h *header) train(id, code string) error {
	if err := h.need(); err != nil {
		return err
	}
	if _, err := parseBeats(code); err != nil {
		return err
	}
	h.trains = append(h.trains, id+","+code)
	return nil
}

// record is the header of a record of these notes.
func (h *header) record() block.Header {
	r := h.base
	r.Format, r.Zone = 1, "UTC"
	if h.layout.Clock.Kind == "scaled" {
		h.layout.Clock = block.ClockKind{Kind: "real", Speed: 1} // times in notes are the district's own
	}
	r.Layout = string(h.layout.Text())
	if len(h.trains) > 0 && r.Trains == "" {
		r.Trains = block.BareSequence(h.layout, h.trains)
	}
	if r.Books == nil {
		r.Books = block.BookTexts(h.layout)
	}
	return r
}

// span reads "-2m" or "90s".
func span(s string) (time.Duration, error) {
	d, err := time.ParseDuration(s)
	if err != nil {
		return 0, fmt.Errorf("%q is no span of time; write it as -2m or 90s", s)
	}
	return d, nil
}
