package block

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// methodNames are the methods of working that a layout may name.
func methodNames() []string {
	return []string{absoluteName, permissiveName, tokenName, "tablet", "electricStaff", "oneTrain", "staffTicket", "staffTicketBlock", trackCircuitName}
}

// onSingle tells whether a method works a single line in both directions.
func onSingle(method string) bool {
	return method != absoluteName && method != permissiveName && method != trackCircuitName
}

// between checks two neighbours and the lines between them.
func (c *layoutChecker) between(i int) {
	b := &c.Between[i]
	path := element("between", i)
	if !c.pair(path, b) {
		return
	}
	if b.Yards == 0 && !c.said(path+".yards") {
		c.missing(path+".yards", fmt.Sprintf("it is not said how far %s is from %s", b.Boxes[1], b.Boxes[0]), "write yards = 5720, or at for both boxes")
	} else {
		c.length(path+".yards", b.Yards, 1)
	}
	c.speed(path+".mph", b.MPH)
	c.bookName(path+".book", b.Book)
	c.oneOf(path+".method", b.Method, "method of working", methodNames()...)
	c.oneOf(path+".level", string(b.Level), "apparatus level", string(Free), string(Sequential), string(Interlocked))
	for _, id := range slices.Sorted(maps.Keys(b.Hears)) {
		at := dotted(path+".hears", string(id))
		if !slices.Contains(b.Boxes, id) {
			c.wrong(at, fmt.Sprintf("%s is not one of the two boxes here", quoted(string(id))), fmt.Sprintf("name %s or %s", b.Boxes[0], b.Boxes[1]))
		} else if b.Hears[id] == "" {
			c.wrong(at, "the voice has no name", "write the name of a voice, or leave it out")
		}
	}
	for n := range b.Lines {
		c.line(element(path+".lines", n), b, n)
	}
	c.whileOut(path, i)
}

// pair checks which two boxes are joined, and in which order.
func (c *layoutChecker) pair(path string, b *Between) bool {
	at := path + ".boxes"
	switch {
	case len(b.Boxes) == 0 && !c.said(at):
		c.missing(at, "it is not said which two boxes these lines join", `write boxes = ["UL", "OS"]`)
		return false
	case len(b.Boxes) != 2:
		c.wrong(at, fmt.Sprintf("lines join two boxes, and %d are named", len(b.Boxes)), `write boxes = ["UL", "OS"], and a [[between]] for each pair`)
		return false
	case b.Boxes[0] == b.Boxes[1]:
		c.wrong(at, fmt.Sprintf("%s cannot be its own neighbour", b.Boxes[0]), "name two boxes")
		return false
	}
	first, second := c.known(element(at, 0), b.Boxes[0]), c.known(element(at, 1), b.Boxes[1])
	if !first || !second {
		return false
	}
	if c.boxNo(b.Boxes[0]) > c.boxNo(b.Boxes[1]) {
		c.wrong(at, fmt.Sprintf("%s comes after %s on the line", b.Boxes[0], b.Boxes[1]), fmt.Sprintf(`write them in Down order: boxes = ["%s", "%s"]`, b.Boxes[1], b.Boxes[0]))
		return false
	}
	return true
}

// line checks one line between two neighbours.
func (c *layoutChecker) line(path string, b *Between, n int) {
	x := &b.Lines[n]
	if x.Name == "" {
		c.missing(path+".name", "the line has no name", `write name = "Up Goods Loop"`)
	}
	for m := range n {
		if strings.EqualFold(b.Lines[m].Name, x.Name) && x.Name != "" {
			c.wrong(path+".name", fmt.Sprintf("two lines between %s and %s are called %s", b.Boxes[0], b.Boxes[1], x.Name), "give each line a name of its own")
			break
		}
	}
	if x.Way == "" && !c.said(path+".way") {
		c.missing(path+".way", "it is not said which way trains run on this line", `write way = "down", "up" or "both"`)
	} else {
		c.oneOf(path+".way", x.Way, "way along the line", "down", "up", "both")
	}
	if x.Method != b.Method {
		c.oneOf(path+".method", x.Method, "method of working", methodNames()...)
	}
	c.wayOfMethod(path, x)
	if x.MPH != b.MPH {
		c.speed(path+".mph", x.MPH)
	}
	if x.Capacity < 1 || x.Capacity > 99 {
		c.wrong(path+".capacity", fmt.Sprintf("a line cannot hold %d trains", x.Capacity), "write a number from 1 to 99")
	} else if x.Capacity > 1 && x.Method != permissiveName {
		c.wrong(path+".capacity", fmt.Sprintf("a line worked by the method %s holds one train, not %d", x.Method, x.Capacity), `leave capacity out, or write method = "permissive"`)
	}
	c.answer(path+".answer", x)
	c.tokens(path+".tokens", b, x)
}

// The two ways to answer an offer on a permissive line that is occupied (other-methods reference, 5.2: both from
// memory; the code of the second is unverified).
const (
	repeatAnswer   = "repeat"
	occupiedAnswer = "2-4-1"
)

// answer checks how an offer on an occupied line is answered.
func (c *layoutChecker) answer(path string, x *Line) {
	if x.Answer == "" {
		return
	}
	if x.Method != permissiveName {
		c.wrong(path, fmt.Sprintf("a line worked by the method %s is never offered a train while one is in", x.Method), `leave answer out, or write method = "permissive"`)
		return
	}
	c.oneOf(path, x.Answer, "answer on an occupied line", repeatAnswer, occupiedAnswer)
}

// wayOfMethod refuses a method that cannot work a line of that way.
func (c *layoutChecker) wayOfMethod(path string, x *Line) {
	if !slices.Contains(methodNames(), x.Method) {
		return
	}
	switch {
	case x.Way == "both" && !onSingle(x.Method):
		c.wrong(path+".way", fmt.Sprintf("%s working cannot keep apart trains that meet on one line", x.Method), `write method = "token" for a single line, or way = "down" or "up"`)
	case (x.Way == "down" || x.Way == "up") && onSingle(x.Method):
		c.wrong(path+".way", fmt.Sprintf("a line worked by %s is single, and trains run on it both ways", x.Method), `write way = "both"`)
	}
}

// WithTokens tells whether a method, by its name in a layout, has instruments that hold tokens: key token, tablet or
// electric train staff, which are one method under three names.
func WithTokens(method string) bool { return withTokens(method) }

// withTokens tells whether a method has instruments that hold tokens.
func withTokens(method string) bool {
	return method == tokenName || method == "tablet" || method == "electricStaff"
}

// AtOnce tells whether a method, by its name in a layout, has no needle, and nothing that only time shows to be wrong: what
// can be found on its lines the acts prove.
func AtOnce(method string) bool { return withStaff(method) || method == trackCircuitName }

// WithStaff tells whether a method, by its name in a layout, has a train staff that no instrument holds: one-train
// working, and staff and ticket.
func WithStaff(method string) bool { return withStaff(method) }

// withStaff tells whether a method has a train staff that no instrument holds.
func withStaff(method string) bool {
	return method == oneTrainName || method == staffTicketName || method == staffTicketBlockName
}

// staff checks where the staff of a line stands, and how long a train waits behind another. path ends in a dot.
func (c *layoutChecker) staff(path string, b *Between, x *Line) {
	switch {
	case x.Staff != "" && !withStaff(x.Method):
		c.wrong(path+"staff", fmt.Sprintf("the method %s knows no staff", x.Method), `leave staff out, or write method = "staffTicket"`)
	case x.Staff != "" && !slices.Contains(b.Boxes, x.Staff):
		c.wrong(path+"staff", fmt.Sprintf("%s is not one of the two boxes here", quoted(string(x.Staff))), fmt.Sprintf("name %s or %s", b.Boxes[0], b.Boxes[1]))
	}
	if x.Interval < 0 || x.Interval != 0 && x.Method != staffTicketName {
		c.wrong(path+"interval", fmt.Sprintf("the interval %s has no sense here", x.Interval), `write how long a train waits behind another, such as "10m", of a line with method = "staffTicket"`)
	}
}

// tokens checks how many tokens lie at each end.
func (c *layoutChecker) tokens(path string, b *Between, x *Line) {
	c.staff(strings.TrimSuffix(path, "tokens"), b, x)
	if (x.OneWay || x.Siding != "") && !withTokens(x.Method) {
		c.wrong(strings.TrimSuffix(path, "tokens")+"method", fmt.Sprintf("the method %s knows neither oneWay nor siding", x.Method), `leave them out, or write method = "token"`)
	}
	if len(x.Tokens) == 0 {
		if withTokens(x.Method) && c.said(path) {
			c.wrong(path, "the line has no tokens", fmt.Sprintf("write how many lie at each end: { %s = 5, %s = 5 }", b.Boxes[0], b.Boxes[1]))
		}
		return
	}
	if !withTokens(x.Method) {
		c.wrong(path, fmt.Sprintf("the method %s knows no tokens", x.Method), `leave tokens out, or write method = "token"`)
		return
	}
	sum := 0
	for _, id := range slices.Sorted(maps.Keys(x.Tokens)) {
		n := x.Tokens[id]
		if !slices.Contains(b.Boxes, id) {
			c.wrong(dotted(path, string(id)), fmt.Sprintf("%s is not one of the two boxes here", quoted(string(id))), fmt.Sprintf("name %s and %s", b.Boxes[0], b.Boxes[1]))
		}
		if n < 0 || n > 99 {
			c.wrong(dotted(path, string(id)), fmt.Sprintf("an instrument cannot hold %d tokens", n), "write a number from 0 to 99")
		}
		sum += n
	}
	if sum == 0 {
		c.wrong(path, "the line has no tokens, and no train could ever run", fmt.Sprintf("write how many lie at each end: { %s = 5, %s = 5 }", b.Boxes[0], b.Boxes[1]))
	}
}

// whileOut checks lines that stand in for others while a box is out, and that no pair of boxes is joined twice.
func (c *layoutChecker) whileOut(path string, i int) {
	b := &c.Between[i]
	for j := range i {
		if c.Between[j].pairs(b.Boxes[0], b.Boxes[1]) && c.Between[j].While == b.While {
			c.wrong(path+".boxes", fmt.Sprintf("%s and %s are joined in line %d already", b.Boxes[0], b.Boxes[1], c.Line(element("between", j)+".boxes")), "write all lines between two boxes into one [[between]]")
			return
		}
	}
	if b.While == "" {
		return
	}
	at := path + ".while"
	id, ok := b.whileOut()
	if !ok {
		c.wrong(at, quoted(b.While)+" cannot be read", `write while = "MI out"`)
		return
	}
	if !c.known(at, id) {
		return
	}
	n := c.boxNo(id)
	if n <= c.boxNo(b.Boxes[0]) || n >= c.boxNo(b.Boxes[1]) {
		c.wrong(at, fmt.Sprintf("%s does not stand between %s and %s", id, b.Boxes[0], b.Boxes[1]), "name the box over which these lines go")
		return
	}
	if !c.Boxes[n].Switch && !c.marred[element("box", n)] {
		c.wrong(at, fmt.Sprintf("%s has no closing switch and can never be out", id), "write switch = true at that box")
	}
}

// neighbours refuses a box that nobody can ring to.
func (c *layoutChecker) neighbours() {
	for i := range c.Boxes {
		b := &c.Boxes[i]
		joined := slices.ContainsFunc(c.Between, func(x Between) bool { return x.While == "" && slices.Contains(x.Boxes, b.ID) })
		if b.ID != "" && c.boxNo(b.ID) == i && !joined && len(c.Boxes) > 1 && !c.betweenMarred() {
			c.wrong(element("box", i)+".id", fmt.Sprintf("%s has no neighbour", b.ID), fmt.Sprintf(`write a [[between]] with boxes = ["%s", "%s"]`, c.Boxes[max(i, 1)-1].ID, c.Boxes[max(i, 1)].ID))
		}
	}
}

// betweenMarred tells whether some pair of neighbours is not understood already: it may be the one that is missed.
func (c *layoutChecker) betweenMarred() bool {
	for i, b := range c.Between {
		if c.marred[element("between", i)] {
			return true
		}
		for _, id := range b.Boxes {
			if c.boxNo(id) == len(c.Boxes) {
				return true
			}
		}
	}
	return false
}
