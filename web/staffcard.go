package web

import (
	"slices"

	"taillamp/block"
)

// staffCard is the train staff of a single line on the shelf: a rod with its plate, lying there or gone.
type staffCard struct {
	Section    block.SectionID
	Line, Kind string
	Plate      string // what is engraved on it
	Shows      block.StaffWord
	Open       bool
	Says       string
	Acts       []tokenAct
}

// staffOf draws the staff of a line, if it is worked by one. to and box are its ends.
func staffOf(line block.LineView, kind string, to, box block.BoxID) *staffCard {
	s := line.Staff
	if s == nil {
		return nil
	}
	ends := []string{string(box), string(to)}
	slices.Sort(ends)
	c := &staffCard{Section: line.Section, Line: line.Line, Kind: kind, Plate: ends[0] + " – " + ends[1], Shows: s.Shows, Open: s.Open, Says: s.Says}
	for _, a := range []struct {
		where block.Place
		words string
	}{
		{block.Handed, "Give staff to driver"}, {block.ShownTo, "Show staff"}, {block.Unlocked, "Ticket box: turn key"},
		{block.Issued, "Give ticket"}, {block.GivenUp, "Take staff from driver"}, {block.Spent, "Take ticket, cancel"}, {block.Walked, "Send staff on foot"},
	} {
		if s.Tickets || !slices.Contains([]block.Place{block.ShownTo, block.Unlocked, block.Issued, block.Spent}, a.where) {
			c.Acts = append(c.Acts, tokenAct{a.where, a.words, slices.Contains(s.May, a.where)})
		}
	}
	return c
}
