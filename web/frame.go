package web

import (
	"strconv"

	"taillamp/block"
)

// leverPlate is one lever of a box's frame, a signal of a line, with what its plate says.
type leverPlate struct {
	Section  block.SectionID
	No       string // on the lever, from the left
	Signal   string // home, starting
	To, Line string
	Words    string // for those who do not see it
	Off      bool   // pulled over: the signal is off
	Collar   bool
}

// frameOf puts the levers of a box in a row as its trains meet the signals: from the left for those that go Down, from the
// right for those that go Up (common practice, no source). There are a home signal for each line by which trains come and a
// starting signal for each by which they go, worked by absolute block. A token line's signal goes with its token, a loop's
// with the block bells alone.
func frameOf(v *block.View) []leverPlate {
	row := func(way string, toMe bool) []leverPlate {
		var some []leverPlate
		for _, i := range v.Shelf {
			for _, l := range i.Lines {
				if i.Method != "absolute" || l.Way != way || l.ToMe != toMe {
					continue
				}
				p := leverPlate{Section: l.Section, Signal: "Starting", To: "to " + i.Name, Line: l.Line, Off: l.Signal == "off", Collar: l.Collar}
				if toMe {
					p.Signal, p.To, p.Off = "Home", "from "+i.Name, l.Home
				}
				p.Words = p.Signal + " signal, trains " + p.To + ", " + l.Line
				some = append(some, p)
			}
		}
		return some
	}
	var frame []leverPlate
	for _, some := range [][]leverPlate{row("down", true), row("down", false), row("up", false), row("up", true)} {
		frame = append(frame, some...)
	}
	for i := range frame {
		frame[i].No = strconv.Itoa(i + 1)
	}
	return frame
}
