package notes

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"taillamp/block"
)

// Notes are a text of notes, read: the header as the rules and record header of a sitting, and the facts below it.
type Notes struct {
	Header block.Header
	Rules  *block.Rules
	Facts  []Fact
	Begins time.Time
}

// Fact is one line that says what happened.
type Fact struct {
	Line   int       // of the text, from 1
	At     time.Time //
	Text   string    // the line without its time and comment
	Events []block.Event
}

// Fault is what keeps notes from being read.
type Fault struct {
	Line int
	What string // what is wrong; what would be right
}

func (f Fault) Error() string { return fmt.Sprintf("%d: %s", f.Line, f.What) }

// Day is the day of all notes, since they name none.
var Day = time.Date(1961, time.October, 17, 0, 0, 0, 0, time.UTC)

// Files finds a layout that a text of notes names. It may be nil: then only embedded layouts are known.
type Files func(name string) (block.Header, error)

// Read gives the rules that the header names and the facts below it. The error is a Fault.
func Read(text []byte, files Files) (*Notes, error) {
	p := &parser{files: files, header: newHeader(), forms: factForms()}
	for i, line := range strings.Split(string(text), "\n") {
		p.line = i + 1
		if err := p.read(line); err != nil {
			return nil, Fault{Line: p.line, What: err.Error()}
		}
	}
	if p.district == nil { // a header and no fact
		if err := p.endHeader(); err != nil {
			return nil, Fault{Line: p.line, What: err.Error()}
		}
	}
	return p.finish()
}

// parser reads line by line.
type parser struct {
	files    Files
	header   *header
	forms    []form
	district *district // known once the header is at an end
	line     int
	at       time.Time
	timed    bool
	last     time.Time
	facts    []Fact
	events   []block.Event
	duties   map[block.BoxID]bool
	seen     acts
}

var clockTime = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2}))?$`)

func (p *parser) read(line string) error {
	words, err := split(line)
	if err != nil || len(words) == 0 {
		return err
	}
	at, timed, err := p.time(words[0])
	if err != nil {
		return err
	}
	if timed {
		words = words[1:]
	}
	if len(words) == 0 {
		return fmt.Errorf("a time and nothing after it; write what happened then")
	}
	if !timed && len(p.facts) == 0 {
		if done, err := p.headerLine(words); done || err != nil {
			return err
		}
	}
	if p.district == nil {
		if err := p.endHeader(); err != nil {
			return err
		}
	}
	return p.fact(words, at, timed)
}

// time reads the time that a line may begin with.
func (p *parser) time(w word) (time.Time, bool, error) {
	m := clockTime.FindStringSubmatch(w.text)
	if m == nil || w.quoted {
		return time.Time{}, false, nil
	}
	t, err := time.Parse("15:4:5", m[1]+":"+m[2]+":"+orZero(m[3]))
	if err != nil {
		return time.Time{}, false, fmt.Errorf("%q is no time of day; write it as 9:41 or 09:41:05", w.text)
	}
	return Day.Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute +
		time.Duration(t.Second())*time.Second), true, nil
}

func orZero(s string) string {
	if s == "" {
		return "0"
	}
	return s
}

// fact reads a line that says what happened.
func (p *parser) fact(words []word, at time.Time, timed bool) error {
	switch {
	case !timed && len(p.facts) == 0:
		return fmt.Errorf("the first line that says what happened has no time; begin it with one, such as 9:41")
	case !timed:
		at = p.last.Add(time.Second)
	case at.Before(p.last):
		return fmt.Errorf("time goes back from %s to %s; write lines in order of time",
			p.last.Format("15:04:05"), at.Format("15:04:05"))
	}
	p.at, p.timed, p.events = at, timed, nil
	if err := p.verbs(words); err != nil {
		return err
	}
	p.last = at
	p.facts = append(p.facts, Fact{Line: p.line, At: at, Text: join(words), Events: p.events})
	return nil
}

// add makes the line one more event.
func (p *parser) add(e block.Event) {
	e.At = p.at
	p.events = append(p.events, e)
}

// finish makes rules of the header and of what acts the facts turned out to have.
func (p *parser) finish() (*Notes, error) {
	l := p.header.layout
	p.seen.settle(&l.Settings, p.header.set)
	for i := range l.Boxes {
		l.Boxes[i].Staffed = !p.duties[l.Boxes[i].ID]
	}
	l.Clock = block.ClockKind{Kind: "none", Speed: 1} // times in notes are what the clocks of the district showed
	h := p.header.record()
	rules, err := h.Rules()
	if err != nil {
		return nil, Fault{Line: p.header.line, What: err.Error()}
	}
	n := &Notes{Header: h, Rules: rules, Facts: p.facts, Begins: Day}
	if len(p.facts) > 0 {
		n.Begins = p.facts[0].At
	}
	n.Header.Began = n.Begins
	return n, nil
}

// acts are the kinds of act that occur in the facts. A rule that needs one is silent in notes that have none.
type acts struct{ lamps, levers, cautions, collars bool }

func (a acts) settle(s *block.Settings, set map[string]bool) {
	s.Lamps = a.lamps || set["lamps"]
	s.Levers = a.levers || set["levers"]
	s.Cautions = a.cautions || set["cautions"]
	s.Collars = a.collars || set["collars"]
}
