package block

import (
	"fmt"
	"slices"
	"unicode/utf8"
)

// Card is something out of course that the owner may deal during an evening: late running, a hot box, fog. The boxes that
// are told work it by the book; simulated trains and signallers do what it says that happens. Without Does it is words alone,
// and those at the layout make it so.
type Card struct {
	Name    string  `toml:"name"`              // "Hot box"
	Says    string  `toml:"says"`              // what the boxes are told, in a sentence or two
	To      []BoxID `toml:"to,omitempty"`      // which boxes; none: whichever the owner chooses as he deals it
	Does    Place   `toml:"does,omitempty"`    // what happens: a word of Happenings
	At      BoxID   `toml:"at,omitempty"`      // at which box; empty: the first of To
	Train   TrainID `toml:"train,omitempty"`   // to which train; empty: to the next that fits
	Minutes int     `toml:"minutes,omitempty"` // for how long by the district's clock; 0: as long as such a thing usually takes
}

// Happening is what a card dealt to those boxes has come to pass; false: it is words alone.
func (c Card) Happening(to []BoxID) (Happening, bool) {
	h := Happening{Does: c.Does, At: c.At, Train: c.Train, Minutes: c.Minutes}
	if h.At == "" && len(to) > 0 && h.Does != FogFalls {
		h.At = to[0]
	}
	return h, c.Does != ""
}

// UsualCards are those of any evening: each is for the box that the owner chooses, and for the next train that fits.
func UsualCards() []Card {
	return []Card{
		{Name: "Hot box", Says: "Smoke is seen from a wagon in the middle of the next train, after it has passed you.", Does: HotBox},
		{Name: "Divided train", Says: "The last wagons of the next goods train to come have broken away in the section behind it.", Does: Divided},
		{Name: "Token failure", Says: "From now your token instrument gives no release.", Does: TokenFails},
		{Name: "Engine failure", Says: "The next train that enters the section toward you stops in it, its engine dead.", Does: FailedEngine},
		{Name: "Fog", Says: "Fog has come down. There are no fogsignalmen for half an hour.", Does: FogFalls, Minutes: 30},
		{Name: "Late running", Says: "The next train to start from you is ready ten minutes late.", Does: RunsLate, Minutes: 10},
		{Name: "Special train", Says: "A special passenger train leaves you as soon as you can have it accepted.", Does: Special},
	}
}

// DealtCards are those that may be dealt in a district: its own, or if it has none those of any evening.
func (l *Layout) DealtCards() []Card {
	if len(l.Cards) > 0 {
		return l.Cards
	}
	return UsualCards()
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
		c.happens(path, card)
	}
}

// happens is what a card says that the line does.
func (c *layoutChecker) happens(path string, card Card) {
	if card.Does == "" {
		for _, x := range []struct {
			key  string
			said bool
		}{{".at", card.At != ""}, {".train", card.Train != ""}, {".minutes", card.Minutes != 0}} {
			if x.said {
				c.wrong(path+x.key, "a card that does nothing has no "+x.key[1:], `write does = "hot-box", or leave it out`)
			}
		}
		return
	}
	var words []string
	for _, w := range Happenings() {
		words = append(words, string(w))
	}
	c.oneOf(path+".does", string(card.Does), "thing that a card does", words...)
	if card.At != "" {
		c.known(path+".at", card.At)
	}
	if card.Minutes < 0 || card.Minutes > MostMinutes {
		c.wrong(path+".minutes", fmt.Sprintf("%d is no length of time for a card", card.Minutes), fmt.Sprintf("write 1 to %d minutes", MostMinutes))
	}
	if h, _ := card.Happening(card.To); card.Does == TokenFails && c.hasBox(h.At) && !c.hasTokens(h.At) {
		c.wrong(path+".at", "no line of box "+quoted(string(h.At))+" is worked by token", "name a box at one that is")
	}
}

// hasTokens tells whether a line of the box is worked with tokens.
func (c *layoutChecker) hasTokens(id BoxID) bool {
	for _, b := range c.Between {
		if slices.Contains(b.Boxes, id) && slices.ContainsFunc(b.Lines, func(x Line) bool { return withTokens(x.Method) }) {
			return true
		}
	}
	return false
}

func (c *layoutChecker) hasBox(id BoxID) bool {
	for _, b := range c.Boxes {
		if b.ID == id {
			return true
		}
	}
	return false
}
