package block

import "time"

// Ending tells how a recorded event ended. Events that end in an error are not recorded and have none.
type Ending string

// The two recorded endings.
const (
	Done    Ending = "done"
	Refused Ending = "refused"
)

// Reason names what in the apparatus refused. A bell that works is never refused.
type Reason string

// What may hold a handle, a lever or a token.
const (
	NoLineClear   Reason = "no-line-clear"   // section signal locked until the indicator shows line clear
	AlreadyUsed   Reason = "already-used"    // one pull for one line clear
	Sequence      Reason = "sequence"        // the handle turns only blocked, clear, occupied, blocked
	TrainNotOut   Reason = "train-not-out"   // the handle is held until the train has worked the treadle
	HomeNotOn     Reason = "home-not-on"     // line clear needs the home signal at danger
	BerthTaken    Reason = "berth-taken"     // line clear needs the berth track circuit free
	Collared      Reason = "collared"        // a lever collar must be taken off first
	NoRelease     Reason = "no-release"      // token instrument: the other end gives no release
	NoToken       Reason = "no-token"        // token instrument: the magazine is empty
	TokenOut      Reason = "token-out"       // token instrument: one is out already
	WrongToken    Reason = "wrong-token"     // token instrument: it does not fit
	WrongEnd      Reason = "wrong-end"       // token instrument: of a type that takes a token at the other end only
	NotDrawn      Reason = "token-not-drawn" // section signal locked until a token is drawn there
	NoStaff       Reason = "no-staff"        // ticket box: the staff is its key, and is not here
	TicketBoxOpen Reason = "ticket-box-open" // the staff cannot be taken out of the open ticket box
	SwitchLocked  Reason = "switch-locked"   // closing switch locked by a token or train
	Failed        Reason = "failed"          // the instrument is broken
)

// Outcome is what came of an event.
type Outcome struct {
	Ending    Ending         `json:"ending"`        // Done or Refused
	Why       Reason         `json:"why,omitempty"` // for Refused
	Rings     []Ring         `json:"rings,omitempty"`
	Changes   []Change       `json:"changes,omitempty"`
	Irregular []Irregularity `json:"irregular,omitempty"`
}

// Irregularity is an act that the apparatus allowed and the regulations forbid.
type Irregularity struct {
	Rule     RuleID    `json:"rule"` // words, source and grade are in the list of rules
	Box      BoxID     `json:"box"`  // who broke it
	At       time.Time `json:"at"`   // the act it is dated at: not always the one that proved it
	Train    TrainID   `json:"train,omitempty"`
	Section  SectionID `json:"section,omitempty"`
	Severity Severity  `json:"severity,omitempty"` // only where it differs from the rule's own
}

// Ring is one stroke of one bell. The box that pressed does not hear it.
type Ring struct {
	Circuit CircuitID `json:"circuit"`
	To      BoxID     `json:"to"`
	Pressed time.Time `json:"pressed"`
}

// Change is one thing that became different. Exactly one of the pointers is set.
type Change struct {
	Code      *Heard     `json:"code,omitempty"`      // a group of beats came to its end
	Signal    *Signal    `json:"signal,omitempty"`    // what it was taken to mean
	Indicator *Shown     `json:"indicator,omitempty"` // a needle moved
	Lever     *Pulled    `json:"lever,omitempty"`     // a section signal was pulled or put back
	Home      *Pulled    `json:"home,omitempty"`      // a home signal was: that of the box in advance
	Collar    *Reminded  `json:"collar,omitempty"`    // a reminder was put on or taken off
	Token     *Moved     `json:"token,omitempty"`
	Pilot     *Piloted   `json:"pilot,omitempty"`
	Engineers *LineGiven `json:"engineers,omitempty"` // a line was given up to the engineers or handed back
	Train     *Spotted   `json:"train,omitempty"`
	Duty      *OnDuty    `json:"duty,omitempty"`
	Switched  *InOut     `json:"switched,omitempty"` // a closing switch was turned
	Fault     *Broken    `json:"fault,omitempty"`
}

// Heard is a finished group of beats and what it can mean; several keys if the book leaves it open.
type Heard struct {
	Circuit CircuitID `json:"circuit"`
	By      BoxID     `json:"by"`
	First   time.Time `json:"first"`
	Beats   Beats     `json:"beats"`
	Keys    []CodeKey `json:"keys,omitempty"`
	Or      Beats     `json:"or,omitempty"` // the second reading of a doubtful hand
	Joined  bool      `json:"joined,omitempty"`
}

// Sense says what a finished code was taken for (absolute-block reference, 4.7).
type Sense string

// What a code can be on a circuit that serves two boxes.
const (
	Own    Sense = "own"    // the sender's own signal
	Answer Sense = "answer" // the repetition of the other box's signal
	Wrong  Sense = "wrong"  // a repetition that is not exact
	Void   Sense = "void"   // no meaning here
)

// Signal is a bell signal as it was understood. A code held in two readings has its signal later than its Heard.
type Signal struct {
	Circuit CircuitID `json:"circuit"`
	Section SectionID `json:"section,omitempty"` // the line it concerns, if it concerns one
	By      BoxID     `json:"by"`
	First   time.Time `json:"first"` // of its own first beat
	Beats   Beats     `json:"beats"`
	Key     CodeKey   `json:"key,omitempty"`
	Sense   Sense     `json:"sense"`
	To      time.Time `json:"to,omitzero"`   // of an answer: the first beat of what it answers
	Did     Effect    `json:"did,omitempty"` // what it did to the line
	Train   TrainID   `json:"train,omitempty"`
}

// Effect is what a signal did to a line; the train register has a column for most of them.
type Effect string

// The effects that a book or a reviewer asks about.
const (
	Called    Effect = "called"    // call attention
	Offered   Effect = "offered"   // is line clear?
	Accepted  Effect = "accepted"  // under regulation 4
	Warning   Effect = "warning"   // 3-5-5, awaiting its repetition
	AcceptedW Effect = "accepted5" // under regulation 5
	Mended    Effect = "mended"    // the right class of a train already accepted, after 5-3
	Entering  Effect = "entering"  // train entering section
	OutOf     Effect = "out"       // train out of section
	Cancelled Effect = "cancelled" // 3-5
	Removed   Effect = "removed"   // obstruction removed
	Across    Effect = "across"    // no column: written across the page
)

// Shown is what an indicator shows.
type Shown struct {
	Section SectionID `json:"section"`
	Aspect  Aspect    `json:"aspect"`
	Count   int       `json:"count,omitempty"` // permissive lines: how many trains
}

// Pulled is the section signal of a line, or its home signal.
type Pulled struct {
	Section SectionID `json:"section"`
	Off     bool      `json:"off"` // off: the signal is off, the lever over
}

// Reminded is a collar on the instrument or lever of a line, or of all lines to a neighbour.
type Reminded struct {
	Box     BoxID     `json:"box"`
	Circuit CircuitID `json:"circuit"`
	Section SectionID `json:"section,omitempty"`
	On      bool      `json:"on"`
}

// Moved is a token drawn or restored, or in somebody's hand; or a staff, or a ticket of it.
type Moved struct {
	Number  string    `json:"number,omitempty"` // of a ticket
	Section SectionID `json:"section"`
	Box     BoxID     `json:"box"`
	Out     bool      `json:"out"`
	Train   TrainID   `json:"train,omitempty"`
}

// Piloted is what a pilotman of the line has done: given his form, gone with a train, given one his ticket, come.
type Piloted struct {
	Section SectionID `json:"section"`
	Box     BoxID     `json:"box"` // at which
	Where   Place     `json:"where"`
	Off     bool      `json:"off,omitempty"` // his form is withdrawn
	Train   TrainID   `json:"train,omitempty"`
}

// LineGiven is a line given up to the engineers, or handed back.
type LineGiven struct {
	Section SectionID `json:"section"`
	Box     BoxID     `json:"box"` // that made it out
	Back    bool      `json:"back,omitempty"`
}

// Spotted is a train as it was seen.
type Spotted struct {
	Train   TrainID   `json:"train"`
	Section SectionID `json:"section"`
	Where   Place     `json:"where"`
	Lamp    Lamp      `json:"lamp,omitempty"`
}

// OnDuty is a box taken or left.
type OnDuty struct {
	Box BoxID `json:"box"`
	On  bool  `json:"on"`
}

// InOut is a closing switch turned.
type InOut struct {
	Box  BoxID `json:"box"`
	Open bool  `json:"open"`
}

// Broken is an instrument that failed or was mended.
type Broken struct {
	Circuit CircuitID `json:"circuit,omitempty"`
	Section SectionID `json:"section,omitempty"`
	Where   Place     `json:"where,omitempty"`
	Mended  bool      `json:"mended,omitempty"`
}
