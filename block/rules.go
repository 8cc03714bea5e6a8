package block

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"
)

// Rules are a layout, its code books and its timetable, checked together.
// They never change during a sitting and may be shared.
type Rules struct {
	layout    *Layout
	timetable *Timetable
	boxes     []boxPlan
	circuits  []circuitPlan
	sections  []sectionPlan
	boxNo     map[BoxID]int
	circuitNo map[CircuitID]int
	sectionNo map[SectionID]int
	settle    time.Duration
	attention time.Duration
	ignored   RuleID // tests only: a check switched off, to see that some case needs it
}

// boxPlan is what the rules know of a box that never changes.
type boxPlan struct {
	Box
	circuits []int // that it may work, in shelf order
}

// circuitPlan is one pair of bells. Two boxes that are no neighbours have one too if every box between them
// can be switched out; it works while they are.
type circuitPlan struct {
	id       CircuitID
	boxes    [2]int // in Down order
	between  []int  // boxes that must be out for it to work
	book     *CodeBook
	method   method
	kind     string // the method's name
	level    Level
	sections [2]int // by the end it leaves; -1: none. A single line stands at 0
	byBeats  map[string][]*Code
	keysOf   map[string][]CodeKey // of byBeats
}

// sectionPlan is one line between two boxes.
type sectionPlan struct {
	Line
	id      SectionID
	circuit int
	rear    int // box index; of a single line the one nearer the beginning
	advance int
	yards   Yards
}

// The ends of a circuit. The other end of e is 1-e.
const (
	downEnd = 0 // the box nearer the beginning of the line: Down trains leave it
	upEnd   = 1
)

// NewRules checks that the parts fit. The error lists every fault found, not the first only. The timetable may
// be nil.
func NewRules(l *Layout, books []*CodeBook, t *Timetable) (*Rules, error) {
	if t == nil {
		t = &Timetable{}
	}
	r := &Rules{
		layout:    l,
		boxNo:     make(map[BoxID]int, len(l.Boxes)),
		circuitNo: make(map[CircuitID]int),
		sectionNo: make(map[SectionID]int),
		settle:    time.Duration(l.Settings.Settle),
		attention: time.Duration(l.Settings.AttentionHold),
	}
	for i, b := range l.Boxes {
		r.boxes = append(r.boxes, boxPlan{Box: b})
		r.boxNo[b.ID] = i
	}
	var faults []error
	for _, j := range l.joins() {
		if err := r.addJoin(j, books); err != nil {
			faults = append(faults, err)
		}
	}
	r.fillShelves()
	r.timetable = r.withClasses(t)
	return r, errors.Join(faults...)
}

// addJoin adds the circuits of two boxes that can work with one another: one for the double line, and one for
// each further line, because further parallel lines have their own bells.
func (r *Rules) addJoin(j join, books []*CodeBook) error {
	book, err := pickBook(j.Book, books)
	if err != nil {
		return fmt.Errorf("lines between %s and %s: %w", j.Boxes[0], j.Boxes[1], err)
	}
	base := circuitPlan{
		id:       CircuitID(j.Boxes[0] + "-" + j.Boxes[1]),
		boxes:    [2]int{r.boxNo[j.Boxes[0]], r.boxNo[j.Boxes[1]]},
		between:  r.numbers(j.out),
		book:     book,
		byBeats:  index(book),
		keysOf:   keys(index(book)),
		level:    j.Level,
		sections: [2]int{-1, -1},
	}
	pair := base
	pair.kind, pair.method = absoluteName, methodOf(absoluteName)
	double := false
	for _, line := range j.Lines {
		if end := leavesFrom(line); line.Method == absoluteName && pair.sections[end] < 0 {
			pair.sections[end] = r.addSection(len(r.circuits), base.id, line, j)
			double = true
		}
	}
	if double {
		r.addCircuit(pair)
	}
	for _, line := range j.Lines {
		id := sectionID(base.id, line.Name)
		if _, done := r.sectionNo[id]; done {
			continue
		}
		own := base
		if double || len(j.Lines) > 1 {
			own.id = CircuitID(id)
		}
		own.kind, own.method = line.Method, methodOf(line.Method)
		if own.method == nil {
			return fmt.Errorf("line %s between %s and %s: no method is called %q", line.Name, j.Boxes[0], j.Boxes[1], line.Method)
		}
		own.sections[leavesFrom(line)] = r.addSection(len(r.circuits), base.id, line, j)
		r.addCircuit(own)
	}
	return nil
}

// leavesFrom is the end of the circuit that trains of the line leave; of a single line the one nearer the beginning.
func leavesFrom(l Line) int {
	if l.Way == "up" {
		return upEnd
	}
	return downEnd
}

func sectionID(c CircuitID, line string) SectionID { return SectionID(string(c) + " " + line) }

func (r *Rules) addSection(circuit int, base CircuitID, line Line, j join) int {
	n := len(r.sections)
	s := sectionPlan{Line: line, id: sectionID(base, line.Name), circuit: circuit, yards: j.Yards,
		rear: r.boxNo[j.Boxes[0]], advance: r.boxNo[j.Boxes[1]]}
	if line.Way == "up" {
		s.rear, s.advance = s.advance, s.rear
	}
	r.sections = append(r.sections, s)
	r.sectionNo[s.id] = n
	return n
}

func (r *Rules) addCircuit(c circuitPlan) {
	r.circuitNo[c.id] = len(r.circuits)
	r.circuits = append(r.circuits, c)
}

func (r *Rules) numbers(ids []BoxID) []int {
	var out []int
	for _, id := range ids {
		out = append(out, r.boxNo[id])
	}
	return out
}

// fillShelves puts the instruments of each box in line order, as the layout writes its boxes.
func (r *Rules) fillShelves() {
	for c := range r.circuits {
		for _, b := range r.circuits[c].boxes {
			r.boxes[b].circuits = append(r.boxes[b].circuits, c)
		}
	}
	for b := range r.boxes {
		slices.SortStableFunc(r.boxes[b].circuits, func(x, y int) int {
			return cmp.Compare(r.circuits[x].other(b), r.circuits[y].other(b))
		})
	}
}

// other is the box at the far end, seen from box b.
func (p *circuitPlan) other(b int) int { return p.boxes[1-p.end(b)] }

// end is the end of the circuit at which box b stands.
func (p *circuitPlan) end(b int) int {
	if p.boxes[upEnd] == b {
		return upEnd
	}
	return downEnd
}

// index makes a book's codes quick to find by their beats.
func index(b *CodeBook) map[string][]*Code {
	m := make(map[string][]*Code, len(b.Codes))
	for i := range b.Codes {
		c := &b.Codes[i]
		m[string(c.Beats)] = append(m[string(c.Beats)], c)
	}
	return m
}

// keys are the names of the codes that a row of beats may be.
func keys(index map[string][]*Code) map[string][]CodeKey {
	keys := make(map[string][]CodeKey, len(index))
	for beats, codes := range index { // order does not matter: each row is made alone
		for _, c := range codes {
			keys[beats] = append(keys[beats], c.Key)
		}
		keys[beats] = slices.Clip(keys[beats]) // every code heard shares it
	}
	return keys
}

func pickBook(name string, books []*CodeBook) (*CodeBook, error) {
	for _, b := range books {
		if b.Name == name {
			return b, nil
		}
	}
	return FindCodeBook(name)
}

// Layout returns the layout behind the rules. The caller must not change it.
func (r *Rules) Layout() *Layout { return r.layout }

// Timetable returns the sequence of trains as booked, which may be empty. The caller must not change it. What the owner
// has made of it in the course of an evening is the state's: State.Timetable.
func (r *Rules) Timetable() *Timetable { return r.timetable }

// Circuit is one pair of bells as the rest of the program needs to know it.
type Circuit struct {
	ID       CircuitID
	Boxes    [2]BoxID // in Down order
	Over     []BoxID  // of a long section: the boxes between, all of them out while it is worked
	Method   string
	Book     *CodeBook
	Sections []Section
}

// Section is one line between two boxes.
type Section struct {
	ID      SectionID
	Line    string // "Down Main"
	Way     string // down, up, both
	Rear    BoxID  // trains leave it; of a single line the box nearer the beginning
	Advance BoxID
	Yards   Yards
	MPH     float64
	Method  string
	Circuit CircuitID
}

// Circuits returns every circuit of the district, those of long sections included, in layout order.
func (r *Rules) Circuits() []Circuit {
	out := make([]Circuit, len(r.circuits))
	for i, p := range r.circuits {
		c := Circuit{ID: p.id, Method: p.kind, Book: p.book,
			Boxes: [2]BoxID{r.boxes[p.boxes[0]].ID, r.boxes[p.boxes[1]].ID}}
		for _, n := range p.between {
			c.Over = append(c.Over, r.boxes[n].ID)
		}
		for _, n := range p.sections {
			if n >= 0 {
				c.Sections = append(c.Sections, r.section(n))
			}
		}
		out[i] = c
	}
	return out
}

// Section returns the section of that id.
func (r *Rules) Section(id SectionID) (Section, bool) {
	n, ok := r.sectionNo[id]
	if !ok {
		return Section{}, false
	}
	return r.section(n), true
}

func (r *Rules) section(n int) Section {
	p := r.sections[n]
	return Section{ID: p.id, Line: p.Name, Way: p.Way, Rear: r.boxes[p.rear].ID, Advance: r.boxes[p.advance].ID,
		Yards: p.yards, MPH: p.MPH, Method: p.Method, Circuit: r.circuits[p.circuit].id}
}

// Box returns the box of that id.
func (r *Rules) Box(id BoxID) (Box, bool) {
	n, ok := r.boxNo[id]
	if !ok {
		return Box{}, false
	}
	return r.boxes[n].Box, true
}

// Embedded returns a layout that comes with the program: "lathermoor" or "tiny".
func Embedded(layout string) (*Rules, error) {
	h, err := EmbeddedHeader(layout)
	if err != nil {
		return nil, err
	}
	return h.Rules()
}

// rulesOf reads the texts of a record's header.
func rulesOf(h Header) (*Rules, error) {
	l, err := ReadLayout([]byte(h.Layout))
	if err != nil {
		return nil, fmt.Errorf("layout of the record: %w", err)
	}
	var books []*CodeBook
	for name, text := range h.Books { // order does not matter: each is found by its name
		b, err := ReadCodeBook([]byte(text))
		if err != nil {
			return nil, fmt.Errorf("code book %s of the record: %w", name, err)
		}
		b.Name = name
		books = append(books, b)
	}
	t := &Timetable{}
	if h.Trains != "" {
		if t, err = ReadTimetable([]byte(h.Trains), []byte(h.Times)); err != nil {
			return nil, fmt.Errorf("sequence of the record: %w", err)
		}
	}
	return NewRules(l, books, t)
}
