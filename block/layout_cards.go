package block

import (
	"fmt"
	"unicode/utf8"
)

// Card is something out of course that the owner may deal during an evening: late running, a hot box, fog. It is words
// alone: those at the layout make it so, and the boxes that are told work it by the book.
type Card struct {
	Name string  `toml:"name"`         // "Hot box"
	Says string  `toml:"says"`         // what the boxes are told, in a sentence or two
	To   []BoxID `toml:"to,omitempty"` // which boxes; none: whichever the owner chooses as he deals it
}

// cardLimit is how many letters a card holds, and cardNameLimit its name.
const (
	cardLimit     = 240
	cardNameLimit = 40
)

// cards are named, say something, and are told to boxes that there are.
func (c *layoutChecker) cards() {
	seen := make(map[string]bool)
	for n, card := range c.Cards {
		path := fmt.Sprintf("card[%d]", n)
		switch {
		case card.Name == "":
			c.missing(path+".name", "a card has no name", `write name = "Hot box"`)
		case utf8.RuneCountInString(card.Name) > cardNameLimit:
			c.wrong(path+".name", "the name of a card is too long", fmt.Sprintf("use %d letters at most", cardNameLimit))
		case seen[card.Name]:
			c.wrong(path+".name", "there are two cards "+quoted(card.Name), "give each card a name of its own")
		}
		seen[card.Name] = true
		if n := utf8.RuneCountInString(card.Says); n == 0 {
			c.missing(path+".says", "a card says nothing", `write says = "what the boxes are told"`)
		} else if n > cardLimit {
			c.wrong(path+".says", "a card says too much", fmt.Sprintf("use %d letters at most", cardLimit))
		}
		for i, box := range card.To {
			if !c.hasBox(box) {
				c.wrong(fmt.Sprintf("%s.to[%d]", path, i), "there is no box "+quoted(string(box)), "use the id of a box of this file")
			}
		}
	}
}

func (c *layoutChecker) hasBox(id BoxID) bool {
	for _, b := range c.Boxes {
		if b.ID == id {
			return true
		}
	}
	return false
}
