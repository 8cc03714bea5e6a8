package block

import (
	"fmt"
	"slices"
)

// What is legal but risky.

func (c *layoutChecker) risk(path, what, right string) {
	c.warnings.add(c.Line(path), path, what, right)
}

func (c *layoutChecker) warn() {
	for i := range c.Between {
		c.shortSection(i)
	}
	for i := range c.Boxes {
		c.noLoop(i)
		c.alikeBells(i)
	}
}

// shortSection warns of a section that the clearing point of the box behind it reaches right through: a train at the
// next box then fouls an acceptance by a signaller who can neither see nor move it. A box that accepts to its
// starter, to a road, or only with line clear from the box ahead has answered that already (other-methods
// reference, 7).
func (c *layoutChecker) shortSection(i int) {
	b := &c.Between[i]
	if b.While != "" {
		return
	}
	for _, way := range []string{"down", "up"} {
		behind, ahead := b.Boxes[0], b.Boxes[1]
		if way == "up" {
			behind, ahead = ahead, behind
		}
		from, to := c.Boxes[c.boxNo(behind)], c.Boxes[c.boxNo(ahead)]
		if from.Accepts != "clearing" || !b.runs(way) || !c.fedFrom(behind, way) {
			continue
		}
		if over := (from.Clearing - from.Home) - (b.Yards - to.Home); over > 0 {
			c.risk(element("between", i)+".yards", fmt.Sprintf("the clearing point of %s lies %v yards inside the home signal of %s", behind, float64(over), ahead),
				fmt.Sprintf(`at %s write clearing = %v, accepts = "beyond" (only with line clear from %s) or accepts = "starter"`, behind, float64(max(0, from.Clearing-over)), ahead))
		}
	}
}

// runs tells whether trains run that way on some line.
func (b *Between) runs(way string) bool {
	return slices.ContainsFunc(b.Lines, func(x Line) bool { return x.Way == way || x.Way == "both" })
}

// fedFrom tells whether trains come to the box that way from a box in rear.
func (c *layoutChecker) fedFrom(id BoxID, way string) bool {
	end := 1
	if way == "up" {
		end = 0
	}
	return slices.ContainsFunc(c.Between, func(b Between) bool { return b.Boxes[end] == id && b.runs(way) })
}

// noLoop warns of a box in the middle of a single line at which no trains can cross: it may accept toward itself from
// both sides (other-methods reference, 2.6). Two roads, or acceptance to a starter, say that there is a loop.
func (c *layoutChecker) noLoop(i int) {
	x := &c.Boxes[i]
	if x.Roads > 1 || x.Accepts == "starter" {
		return
	}
	var down, up, double bool
	for _, b := range c.Between {
		if !slices.Contains(b.Boxes, x.ID) || b.While != "" {
			continue
		}
		single := !slices.ContainsFunc(b.Lines, func(n Line) bool { return n.Way != "both" })
		double = double || !single
		down = down || single && b.Boxes[0] == x.ID
		up = up || single && b.Boxes[1] == x.ID
	}
	if down && up && !double {
		c.risk(element("box", i)+".id", fmt.Sprintf("%s is a block post on a single line without a loop: trains could be accepted toward it from both sides", x.ID),
			`if it has a loop write roads = 2 or accepts = "starter"; if not, leave the box out`)
	}
}

// alikeBells warns of two bells of one voice that hang in one box and may ring at the same time. Whether bells of
// different voices sound alike is for those to say who know how they sound.
func (c *layoutChecker) alikeBells(i int) {
	x := c.Boxes[i].ID
	for n, b := range c.Between {
		voice := b.Hears[x]
		if voice == "" {
			continue
		}
		for m, other := range c.Between[:n] {
			if other.Hears[x] == voice && !c.neverTogether(b, other, x) {
				c.risk(dotted(element("between", n)+".hears", string(x)), fmt.Sprintf("at %s the bells from %s and %s both sound as %s", x, other.far(x), b.far(x), voice),
					fmt.Sprintf("choose another voice here or in line %d", c.Line(dotted(element("between", m)+".hears", string(x)))))
				break
			}
		}
	}
}

// far is the other box of a pair.
func (b *Between) far(x BoxID) BoxID {
	if b.Boxes[0] == x {
		return b.Boxes[1]
	}
	return b.Boxes[0]
}

// neverTogether tells whether one of two bells of a box is dead whenever the other is live: the long section stands
// in for the box that is out.
func (c *layoutChecker) neverTogether(a, b Between, x BoxID) bool {
	out, long := a.whileOut()
	if long && out == b.far(x) {
		return true
	}
	out, long = b.whileOut()
	return long && out == a.far(x)
}
