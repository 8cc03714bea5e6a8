package main

import (
	"fmt"

	"taillamp/block"
	"taillamp/sounds"
)

// checkVoices gives what is wrong with the voices that a layout chose: names that no voice has, and, as warnings, two
// bells of one box that an ear could take for one another. That two have the very same voice the layout says itself.
func checkVoices(l *block.Layout) (flaws, warnings block.Flaws) {
	var names []string
	for _, v := range sounds.Voices() {
		names = append(names, v.Name)
	}
	var hung []bell
	for i, b := range l.Between {
		for _, box := range b.Boxes {
			wish := b.Hears[box]
			if wish == "" {
				continue
			}
			field := fmt.Sprintf("between[%d].hears.%s", i, box)
			voice, ok := sounds.FindVoice(wish)
			if !ok {
				flaws = append(flaws, block.Flaw{Line: l.Line(field), Field: field, What: fmt.Sprintf("no voice is called %q", wish),
					Right: "write " + list(names) + ", or one of these with its steps up or down such as dome+4"})
				continue
			}
			x := bell{box: box, voice: voice, stands: b.While == ""}
			for _, y := range hung {
				if x.couldBe(y) {
					warnings = append(warnings, block.Flaw{Line: l.Line(field), Field: field,
						What:  fmt.Sprintf("%s and %s, both heard at %s, sound alike", wish, y.voice.Name, box),
						Right: "choose voices of different bodies that are a minor third or more apart, or leave one out"})
				}
			}
			hung = append(hung, x)
		}
	}
	return flaws, warnings
}

// bell is one bell on the shelf of a box.
type bell struct {
	box    block.BoxID
	voice  sounds.Voice
	stands bool // else it takes another's place while a box is out, and may sound like that one
}

func (x bell) couldBe(y bell) bool {
	return x.box == y.box && x.stands && y.stands && x.voice.Name != y.voice.Name && !sounds.Distinct(x.voice, y.voice)
}
