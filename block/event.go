package block

import (
	"strconv"
	"time"
)

// The names of things in a district. They are short, chosen by the layout's owner, and stand in every record.
type (
	BoxID     string // "OS": the initials, as on the block shelf and in notes
	CircuitID string // "UL-OS": one pair of bells, boxes in Down order
	SectionID string // "UL-OS Down Main": one line between two boxes
	TrainID   string // its number in the sequence, "11", or a made-up mark
	CodeKey   string // "express", "out-of-section": a line of a code book
	RuleID    string // "R13", "TK-01": a line of the list of rules
)

// Do is the kind of an act.
type Do string

// The kinds of act. Every line of the notes form is one of them; a test holds the two lists together.
const (
	Beat      Do = "beat"      // one press of a bell key
	Rung      Do = "rung"      // a whole code, as notes and simulated signallers ring it: read as written
	Hold      Do = "hold"      // the key kept down on the last beat (the token release) and, with Off, let go
	Turn      Do = "turn"      // block handle to blocked, clear or occupied
	Lever     Do = "lever"     // section signal pulled by the box in rear, or home signal by that in advance; with Off, put back
	Collar    Do = "collar"    // reminder on an instrument or lever; with Off, taken away
	Release   Do = "release"   // the sealed release of a locked instrument
	Token     Do = "token"     // drawn, restored, handed to or given up by a train: Where says which
	Switch    Do = "switch"    // closing switch: the box opens; with Off, it closes
	Train     Do = "train"     // a train seen, or its truth (By empty): Where says what
	Told      Do = "told"      // train complete, by guard, shunter or telephone
	Driver    Do = "driver"    // a driver stopped or cautioned: Where says which
	Foul      Do = "foul"      // clearing point or line outside the home obstructed; with Off, free
	Pilot     Do = "pilot"     // pilotman's working: his form, his riding, his ticket, his coming: Where says which
	Engineers Do = "engineers" // the line given up to the engineers; with Off, handed back
	Duty      Do = "duty"      // signing on; with Off, off
	Call      Do = "call"      // telephone: words between neighbours
	Remark    Do = "remark"    // words for the remarks column; with a Where, an entry of a register kept by hand
	Slip      Do = "slip"      // an own register entry ruled through; it stays legible
	Fault     Do = "fault"     // an instrument made to fail; with Off, mended: Where says which
	Ears      Do = "ears"      // a box's bells tried before the start: Words says heard, not heard or untried
	Clock     Do = "clock"     // the box's own clock found or made wrong, Words says by how much
	Pace      Do = "pace"      // the evening paused (Off) or going on; Words may say at what speed
	Trains    Do = "trains"    // the sequence changed by the owner: Where says how
	Happens   Do = "happens"   // something out of course ordered by the owner, of the box By: Where says what
	Befalls   Do = "befalls"   // what such an order has come to: which train, on which line; with Off, it is over
	Plans     Do = "plans"     // what the owner will have done at a time of the evening; with Off, that is off the list: Line says which
	Tick      Do = "tick"      // time alone
)

// Aspect is what a block indicator shows.
type Aspect string

// The three words of an indicator.
const (
	Blocked  Aspect = "blocked"  // line blocked: nothing accepted
	Clear    Aspect = "clear"    // line clear: one train accepted
	Occupied Aspect = "occupied" // train on line
)

// Place is where a train, a token or an obstruction is: a word of the notes form.
type Place string

// Places of a Train act.
const (
	Leaves   Place = "leaves"   // its head passes the section signal
	Stands   Place = "stands"   // at the home signal
	Heads    Place = "heads"    // its engine passes the box, its tail not seen yet
	Passes   Place = "passes"   // wholly by, beyond the clearing point; Lamp says what was seen of the tail
	Arrives  Place = "arrives"  // whole inside the home, short of the clearing point
	IsClear  Place = "clear"    // put aside whole: the line is free of it
	Returns  Place = "returns"  // back behind the section signal; Off: in part only
	Divides  Place = "divides"  // truth, out of sight
	IsWhole  Place = "whole"    // seen whole where it is, and the box in doubt is told
	Departs  Place = "departs"  // a touch of the register's cell: it started from here; moves nothing
	Stopped  Place = "stopped"  // of a Driver act: brought to a stand at the signals
	Warned   Place = "warned"   // of a Driver act: told or shown the caution
	Inside   Place = "inside"   // of a Foul act: within the clearing point
	Moving   Place = "moving"   // of a Foul act: within the clearing point, passing over without stopping
	Outside  Place = "outside"  // of a Foul act: outside the home signal
	WasIn    Place = "arrived"  // a touch of the register's cell after its 2-1: it had arrived, and was not booked; moves nothing
	WasBy    Place = "passed"   // the same of one that had passed
	Drawn    Place = "drawn"    // of a Token act
	Restored Place = "restored" // of a Token act
	Handed   Place = "handed"   // of a Token act: to a train
	GivenUp  Place = "given"    // of a Token act: by a train
	Taken    Place = "taken"    // of a Token act: by the lineman, numbers in Words
	Put      Place = "put"      // of a Token act: by the lineman into the other instrument
	ShutIn   Place = "shut-in"  // of a Token act: into the instrument of a siding, its train inside; the box has heard it by telephone
	LetOut   Place = "let-out"  // of a Token act: out of it, for a train to the other end
	Walked   Place = "walked"   // of a Token act: the staff is walked to the other end
	ShownTo  Place = "shown"    // of a Token act: the staff is shown to a driver
	Unlocked Place = "unlocked" // of a Token act: the ticket box, opened with the staff; with Off, locked
	Issued   Place = "issued"   // of a Token act: a ticket given to a train, its number in Words
	Spent    Place = "spent"    // of a Token act: a ticket given up and cancelled
	Form     Place = "form"     // of a Pilot act: his form received and countersigned; with Off, withdrawn
	Rides    Place = "rides"    // of a Pilot act: he goes with that train
	Ticket   Place = "ticket"   // of a Pilot act: that train has his ticket
	Comes    Place = "comes"    // of a Pilot act: he has come without a train
	AtBell   Place = "bell"     // of a Fault act
	AtNeedle Place = "needle"   // of a Fault act
	AtPhone  Place = "phone"    // of a Fault act
)

// Lamp is what was seen of a tail lamp.
type Lamp string

// What a tail lamp may be.
const (
	LampUnseen  Lamp = ""        // not looked for
	LampSeen    Lamp = "seen"    // there and burning: the train is complete
	LampMissing Lamp = "missing" // none there
	LampOut     Lamp = "out"     // there but unlit
)

// Event is one thing that happened or was tried. Fields that a kind does not use are zero.
type Event struct {
	Do      Do        `json:"do"`
	At      time.Time `json:"at"`               // the sitting's order
	Pressed time.Time `json:"pressed,omitzero"` // the finger's rhythm; zero: the same as At
	By      BoxID     `json:"by,omitempty"`
	Circuit CircuitID `json:"circuit,omitempty"`
	Section SectionID `json:"section,omitempty"`
	Beats   Beats     `json:"beats,omitempty"` // for Rung
	Off     bool      `json:"off,omitempty"`   // the opposite of the kind: put back, let go, mended
	Show    Aspect    `json:"show,omitempty"`  // for Turn
	Train   TrainID   `json:"train,omitempty"`
	Where   Place     `json:"where,omitempty"` // for Train, Token, Driver, Foul, Fault, Pilot, Happens; of a Remark by hand: its column
	Lamp    Lamp      `json:"lamp,omitempty"`  // for Train: seen, missing, out, not looked for
	Line    uint64    `json:"line,omitempty"`  // for Slip and Plans: the record entry behind it; of a Remark by hand: the one that began its line
	Words   string    `json:"words,omitempty"`
}

// ByHand tells whether the act is an entry of a register that a signaller keeps by hand beside the one that writes
// itself. Nothing that the machine, the books or the review make of an evening rests on it.
func (e Event) ByHand() bool { return e.Do == Remark && e.Where != "" }

// mostSpeed is the greatest speed of a scaled clock that an evening may go on at.
const mostSpeed = 60

// Speed is the speed at which a Pace act lets a scaled clock go on, if it says one: in its words, district minutes in a
// real minute, above 0 and not more than 60.
func (e Event) Speed() (float64, bool) {
	speed, err := strconv.ParseFloat(e.Words, 64)
	return speed, err == nil && !e.Off && speed > 0 && speed <= mostSpeed
}

// pressed is the finger's time of a beat.
func (e Event) pressed() time.Time {
	if e.Pressed.IsZero() {
		return e.At
	}
	return e.Pressed
}
