package lesson

import (
	"slices"

	"taillamp/block"
)

// Hand is a kind of act. A learner is given them one after another.
type Hand string

// The kinds of act.
const (
	Attention Hand = "attention" // call attention answered
	Accept    Hand = "accept"    // an offer repeated
	Repeat    Hand = "repeat"    // any other signal repeated
	Clear     Hand = "clear"     // the needle to line clear
	Occupied  Hand = "occupied"  // … to train on line
	Blocked   Hand = "blocked"   // … to line blocked
	Lamp      Hand = "lamp"      // the tail lamp looked for
	Out       Hand = "out"       // train out of section given, attention called first
	Offer     Hand = "offer"     // a train offered, attention called first
	Entering  Hand = "entering"  // train entering section given
	Token     Hand = "token"     // the token instrument and its token
	Other     Hand = "other"     // anything else
)

// Hands lists them all.
func Hands() []Hand {
	return []Hand{Attention, Accept, Repeat, Clear, Occupied, Blocked, Lamp, Out, Offer, Entering, Token, Other}
}

// Does tells whether an act is the learner's own.
func (l *Lesson) Does(a block.Advice) bool { return slices.Contains(l.Mine, l.HandOf(a)) }

// HandOf is the kind of an act at the learner's box.
func (l *Lesson) HandOf(a block.Advice) Hand {
	switch a.Do {
	case block.Train:
		return Lamp
	case block.Turn:
		return map[block.Aspect]Hand{block.Clear: Clear, block.Occupied: Occupied, block.Blocked: Blocked}[a.Show]
	case block.Token, block.Hold:
		return Token
	}
	sec, _ := l.rules.Section(a.Section)
	switch {
	case a.Key == "call-attention" && a.Answers:
		return Attention
	case a.Key == "entering-section" && !a.Answers:
		return Entering
	case l.isClass(a):
		if a.Answers {
			return Accept
		}
		return Offer
	case a.Answers:
		return Repeat
	case a.Key == "out-of-section" || a.Key == "call-attention" && sec.Advance == l.Box && sec.Way != "both":
		return Out
	case a.Key == "call-attention":
		return Offer
	}
	return Other
}

// isClass tells whether a code offers a train.
func (l *Lesson) isClass(a block.Advice) bool {
	for _, c := range l.rules.Circuits() {
		if c.ID == a.Circuit {
			code, ok := c.Book.Key(a.Key)
			return ok && code.Train
		}
	}
	return false
}
