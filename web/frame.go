package web

import (
	"strconv"

	"taillamp/block"
)

// leverPlate is one lever of a box's frame: the section signal of a line, with what its plate says.
type leverPlate struct {
	Section  block.SectionID
	No       string // on the lever, from the left
	To, Line string
	Words    string // for those who do not see it
	Off      bool   // pulled over: the signal is off
	Collar   bool
}

// frameOf puts the levers of a box in a row, in the order of its shelf: one for each line by which its trains go, worked
// by absolute block. A token line's signal goes with its token, a loop's with the block bells alone.
func frameOf(v *block.View) []leverPlate {
	var frame []leverPlate
	for _, i := range v.Shelf {
		for _, l := range i.Lines {
			if l.ToMe || i.Method != "absolute" {
				continue
			}
			frame = append(frame, leverPlate{Section: l.Section, No: strconv.Itoa(len(frame) + 1), To: "To " + i.Name, Line: l.Line,
				Words: "Starting signal to " + i.Name + ", " + l.Line, Off: l.Signal == "off", Collar: l.Collar})
		}
	}
	return frame
}
