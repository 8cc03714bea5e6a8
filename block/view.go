package block

import "time"

// View is what one operator may see: his own bells, needles, tokens, trains and faults, nothing else.
// It never shows what a real signaller could not know.
type View struct {
	Box    BoxID        `json:"box"`
	At     time.Time    `json:"at"`
	OnDuty bool         `json:"onDuty"`
	Open   bool         `json:"open"` // switched in
	Shelf  []Instrument `json:"shelf"`
	Paused bool         `json:"paused,omitempty"`
}

// Instrument is one bell and the indicators that go with it, as it stands on the block shelf. Instruments are
// in line order; those of boxes that do not work with this one at present are left out.
type Instrument struct {
	Circuit CircuitID  `json:"circuit"`
	To      BoxID      `json:"to"`     // the neighbour
	Side    string     `json:"side"`   // "up" or "down": which end of the line the neighbour stands at
	Method  string     `json:"method"` // absolute, plain, …
	Level   Level      `json:"level"`
	Lines   []LineView `json:"lines"`           // toward this box first
	Heard   *Heard     `json:"heard,omitempty"` // the last code from the other end
	Means   string     `json:"means,omitempty"` // what it was taken to mean, in words
	Sent    *Heard     `json:"sent,omitempty"`  // this box's own last code
	// What stands open between the two, as both know it by their bells.
	Called  BoxID   `json:"called,omitempty"`  // who called attention and has not been answered
	Has     BoxID   `json:"has,omitempty"`     // who called and was answered: he has the word
	Offer   *Heard  `json:"offer,omitempty"`   // an offer not yet answered, either way
	Waiting *Heard  `json:"waiting,omitempty"` // another signal not yet answered
	Broken  []Place `json:"broken,omitempty"`  // what has failed and been found out
}

// LineView is one line of an instrument.
type LineView struct {
	Section  SectionID `json:"section"`
	Line     string    `json:"line"` // "Down Main"
	Way      string    `json:"way"`  // down, up, both
	ToMe     bool      `json:"toMe"` // this box turns the needle; else it is a repeater
	Shows    Aspect    `json:"shows"`
	Count    int       `json:"count,omitempty"`
	Standing string    `json:"standing"`         // as the bells have it: IDLE, OFF, …, overlays joined on
	Signal   string    `json:"signal,omitempty"` // on, off: the section signal, where levers are worked
	Collar   bool      `json:"collar,omitempty"`
	Trains   []Spotted `json:"trains,omitempty"` // as this box saw them
}
