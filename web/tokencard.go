package web

import (
	"fmt"

	"taillamp/block"
)

// tokenCard is the token instrument of a single line; the words are those of static/elements/token.mjs.
type tokenCard struct {
	Section      block.SectionID
	Line, Kind   string
	Shows        block.TokenWord
	Says, Of     string
	Release      bool
	ReleaseWords string
	Keys         []bool // one for each token of the section: whether it is here
	Where        string
	Acts         []tokenAct
}

// tokenAct is something that a hand can do with a token.
type tokenAct struct {
	Where block.Place
	Words string
	May   bool // as things are, the hand could try it
}

// tokenOf draws the token instrument of a line, if it has one. name is the neighbour's, tokens how many the section has.
func tokenOf(line block.LineView, kind, name string, tokens int) *tokenCard {
	t := line.Token
	if t == nil {
		return nil
	}
	c := &tokenCard{Section: line.Section, Line: line.Line, Kind: kind, Shows: t.Shows, Says: "TOKEN IN", Release: t.Release,
		ReleaseWords: "no release", Where: "The token is away."}
	switch t.Shows {
	case block.GoingTo:
		c.Says, c.Of = "TRAIN GOING", "to "+name
	case block.ComingFrom:
		c.Says, c.Of = "TRAIN COMING", "from "+name
	case block.TokenGone:
		c.Says = "TOKEN OUT"
	}
	switch {
	case t.Release:
		c.ReleaseWords = name + " releases: draw"
	case t.Holding:
		c.ReleaseWords = "You hold the key for " + name
	}
	for n := range tokens {
		c.Keys = append(c.Keys, n < t.Here)
	}
	away := t.Out && t.Hand != "box" && t.Hand != "train"
	switch {
	case !t.Out && t.Here == 1:
		c.Where = "1 token here"
	case !t.Out:
		c.Where = fmt.Sprintf("%d tokens here", t.Here)
	case t.Hand == "box":
		c.Where = "The token is in your hand."
	case t.Hand == "train":
		c.Where = "The train has the token."
	}
	c.Acts = []tokenAct{
		{block.Drawn, "Draw a token", !t.Out},
		{block.Handed, "Give to driver", t.Out && t.Hand == "box"},
		{block.GivenUp, "Take from driver", away || t.Out && t.Hand == "train"},
		{block.Restored, "Put back", t.Out && t.Hand == "box" || away},
	}
	return c
}

// tokensOf is how many tokens the section of a line has, by the layout.
func tokensOf(l *block.Layout, boxes [2]block.BoxID, line string) int {
	for _, b := range l.Between {
		if len(b.Boxes) != 2 || b.Boxes[0] != boxes[0] || b.Boxes[1] != boxes[1] {
			continue
		}
		for _, n := range b.Lines {
			if n.Name != line {
				continue
			}
			all := 0
			for _, in := range n.Tokens {
				all += in
			}
			return all
		}
	}
	return 0
}
