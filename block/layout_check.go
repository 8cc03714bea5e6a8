package block

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Check gives the flaws of a layout, which make it useless, and warnings: what is legal but risky. Whether the
// sequence of trains fits the layout says CheckSequence.
func (l *Layout) Check() (flaws, warnings Flaws) {
	c := &layoutChecker{Layout: l}
	c.check()
	if len(c.flaws) == 0 {
		c.warn()
	}
	return c.flaws.sorted(), c.warnings.sorted()
}

func (c *layoutChecker) check() {
	c.head()
	c.settings()
	for i := range c.Boxes {
		c.box(i)
	}
	for i := range c.Between {
		c.between(i)
	}
	c.neighbours()
	c.cards()
}

// Line returns the line of the layout's file at which a field stands, or the nearest table around it: "trains",
// "box[2].clearing". 0 if the layout was never a file.
func (l *Layout) Line(field string) int {
	n := l.lines.line(field)
	if n == 0 && l.lines.at != nil {
		return 1 // what is missing altogether is missing from the beginning
	}
	return n
}

// layoutChecker gathers what is wrong with a layout.
type layoutChecker struct {
	*Layout
	marred   map[string]bool // tables of which a key is not understood already: what they lack is not said again
	flaws    Flaws
	warnings Flaws
}

func (c *layoutChecker) wrong(path, what, right string) {
	if !c.marred[path] {
		c.flaws.add(c.Line(path), path, what, right)
	}
}

// missing is wrong for something that is not there. In a table with a misspelt key it is probably that key.
func (c *layoutChecker) missing(path, what, right string) {
	if !c.marred[outside(path)] {
		c.wrong(path, what, right)
	}
}

// oneOf refuses a word that is none of a list, and names the nearest.
func (c *layoutChecker) oneOf(path, word, kind string, among ...string) {
	if slices.Contains(among, word) {
		return
	}
	c.wrong(path, fmt.Sprintf("%s is no %s", quoted(word), kind), rightWord(word, among))
}

// rightWord says which word was meant, or which there are.
func rightWord(word string, among []string) string {
	if n := nearest(word, among); n != "" {
		return "did you mean " + n + "?"
	}
	switch len(among) {
	case 0:
		return "there is none yet"
	case 1:
		return "there is " + among[0]
	}
	return "write " + strings.Join(among[:len(among)-1], ", ") + " or " + among[len(among)-1]
}

// longest is how long a section or how far a place may be, in yards: a thousand miles.
const longest = 1760000

// length refuses what is no length in yards: one below least, not finite or longer than any line.
func (c *layoutChecker) length(path string, n, least Yards) {
	if !(float64(n) >= float64(least) && float64(n) <= longest) {
		c.wrong(path, fmt.Sprintf("%v yards is no length", float64(n)), fmt.Sprintf("write yards from %v to %d", float64(least), longest))
	}
}

func (c *layoutChecker) speed(path string, mph float64) {
	if !(mph > 0 && mph <= 200) {
		c.wrong(path, fmt.Sprintf("%v is no speed of a line", mph), "write miles an hour, such as 60")
	}
}

func (c *layoutChecker) head() {
	if c.Format != 1 {
		if c.Format == 0 && !c.said("format") {
			c.missing("format", "the file does not say in which form it is", "begin it with format = 1")
		} else {
			c.wrong("format", fmt.Sprintf("the form %d is not known", c.Format), "this program reads format = 1")
		}
	}
	c.bookName("book", c.Book)
	if c.Times != "" && c.Trains == "" {
		c.missing("trains", "there are times and no sequence of trains", `write trains = "trains.csv" too, or leave times out`)
	}
	c.oneOf("clock.kind", c.Clock.Kind, "kind of clock", "none", "real", "scaled")
	if c.Clock.Starts != "" {
		if _, ok := parseClock(c.Clock.Starts); !ok {
			c.wrong("clock.starts", quoted(c.Clock.Starts)+" is no time of day", "write it as 15:30")
		}
	} else if c.Clock.Kind == "scaled" {
		c.missing("clock.starts", "a scaled clock does not say when it begins", `write starts = "15:30"`)
	}
	if !(c.Clock.Speed > 0 && c.Clock.Speed <= 60) {
		c.wrong("clock.speed", fmt.Sprintf("the clock cannot run at a speed of %v", c.Clock.Speed), "write layout minutes in a real minute, from 0.1 to 60")
	}
	if len(c.Boxes) < 2 {
		c.missing("box", "a district of "+countOf(len(c.Boxes), "box")+" has nobody to ring to", "begin each box with [[box]], two at least")
	}
}

// bookName refuses a name without a file's ending that is no embedded book.
func (c *layoutChecker) bookName(path, name string) {
	if strings.ContainsAny(name, `./\`) || slices.Contains(BookNames(), name) {
		return // a file of the user's own is read by whoever reads files
	}
	right := rightWord(name, BookNames())
	if !strings.HasPrefix(right, "did") {
		right += ", or the path of a file of your own such as our-book.toml"
	}
	c.wrong(path, "no code book is called "+quoted(name), right)
}

func (c *layoutChecker) settings() {
	s := &c.Settings
	for _, x := range []struct {
		name string
		span Duration
	}{{"settle", s.Settle}, {"attentionHold", s.AttentionHold}, {"failGap", s.FailGap}} {
		if x.span <= 0 || time.Duration(x.span) > time.Hour {
			c.wrong("settings."+x.name, x.span.String()+" is too short or too long", `write a span up to an hour, such as "30s"`)
		}
	}
	if !(s.LongTime >= 1) || math.IsInf(s.LongTime, 0) {
		c.wrong("settings.longTime", fmt.Sprintf("%v times the usual is not unusually long", s.LongTime), "write a number from 1, such as 3")
	}
	c.oneOf("settings.tesOn", s.TesOn, "moment for 2", "passes", "starts")
	c.oneOf("settings.telephone", s.Telephone, "kind of telephone", "two", "circuit", "none")
	c.oneOf("settings.fogRule", s.FogRule, "rule for fog", "off", "double")
	c.oneOf("settings.leversAt", s.LeversAt, "place of the levers", "tablet", "layout")
}

func (c *layoutChecker) box(i int) {
	b := &c.Boxes[i]
	at := func(field string) string { return element("box", i) + "." + field }
	switch {
	case b.ID == "" && !c.said(at("id")):
		c.missing(at("id"), "the box has no initials", `write id = "OS"`)
	case !boxForm.MatchString(string(b.ID)):
		c.wrong(at("id"), quoted(string(b.ID))+" cannot be the initials of a box", "write one to four capital letters and figures, a letter first, such as OS")
	default:
		if first := c.boxNo(b.ID); first < i {
			c.wrong(at("id"), fmt.Sprintf("the box %s is in line %d already", b.ID, c.Line(element("box", first)+".id")), "give each box initials of its own")
		}
	}
	c.length(at("at"), b.At, 0)
	if i > 0 && b.At == 0 && !c.said(at("at")) && c.Boxes[i-1].At > 0 {
		c.missing(at("at"), "it is not said where "+boxName(b)+" stands", "write at = and its yards along the line, or the yards of the lines that lead to it")
	} else if i > 0 && b.At < c.Boxes[i-1].At {
		c.wrong(at("at"), fmt.Sprintf("%s stands before %s, which is written above it", boxName(b), boxName(&c.Boxes[i-1])), "write the boxes in Down order, at rising yards")
	}
	c.length(at("home"), b.Home, 0)
	c.length(at("starter"), b.Starter, 0)
	c.length(at("clearing"), b.Clearing, 0)
	if b.Roads < 0 || b.Roads > 99 {
		c.wrong(at("roads"), fmt.Sprintf("a yard cannot have %d roads", b.Roads), "write a number from 1 to 99, or leave it out")
	}
	c.oneOf(at("worked"), b.Worked, "way of working a box", "sim", "person", "either")
	c.oneOf(at("accepts"), b.Accepts, "point that an acceptance reaches to", "road", "clearing", "beyond", "starter", "buffer")
	if b.Accepts == "road" && b.Roads == 0 && !c.marred[element("box", i)] {
		c.wrong(at("accepts"), boxName(b)+" accepts to a free road and has no roads", "write roads = 2, or another word for accepts")
	}
	for k, s := range b.Authorise {
		c.authority(element(at("authorise"), k), b, s)
	}
}

// authority checks one line of a box's card.
func (c *layoutChecker) authority(path string, b *Box, s string) {
	a, ok := parseAuthority(s)
	if !ok {
		c.wrong(path, quoted(s)+" cannot be read", `write "warning from UL", "warning from UL for all" or "forward shunt toward QU"`)
		return
	}
	if !c.known(path, a.box) {
		return
	}
	if !slices.ContainsFunc(c.joins(), func(j join) bool { return j.pairs(b.ID, a.box) }) {
		c.wrong(path, fmt.Sprintf("%s and %s never work with one another", boxName(b), a.box), "name a neighbour of the box")
	}
}

// pairs tells whether the join is of those two boxes.
func (b Between) pairs(x, y BoxID) bool {
	return len(b.Boxes) == 2 && (b.Boxes[0] == x && b.Boxes[1] == y || b.Boxes[0] == y && b.Boxes[1] == x)
}

// known tells whether the layout has a box, and says so where it has not.
func (c *layoutChecker) known(path string, id BoxID) bool {
	if c.boxNo(id) < len(c.Boxes) {
		return true
	}
	for i := range c.Boxes {
		if c.marred[element("box", i)] {
			return false // its initials may be the ones that were not understood
		}
	}
	c.wrong(path, "no box is called "+quoted(string(id)), rightWord(string(id), c.boxIDs()))
	return false
}

// boxNo is the place of the first box of those initials; the number of boxes if there is none.
func (l *Layout) boxNo(id BoxID) int {
	for i := range l.Boxes {
		if l.Boxes[i].ID == id {
			return i
		}
	}
	return len(l.Boxes)
}

func (l *Layout) boxIDs() []string {
	ids := make([]string, len(l.Boxes))
	for i, b := range l.Boxes {
		ids[i] = string(b.ID)
	}
	return ids
}

// said tells whether the file has the key at all.
func (l *Layout) said(path string) bool {
	_, ok := l.lines.at[path]
	return ok
}

// boxName is a box as a message names it.
func boxName(b *Box) string {
	if b.ID == "" {
		return "this box"
	}
	return string(b.ID)
}

// countOf is a number of boxes, lines or trains: no box, one box, 3 boxes.
func countOf(n int, thing string) string {
	switch n {
	case 0:
		return "no " + thing
	case 1:
		return "one " + thing
	}
	if strings.HasSuffix(thing, "x") {
		return fmt.Sprintf("%d %ses", n, thing)
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
