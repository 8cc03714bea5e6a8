package block

import "time"

// View is what one operator may see: his own bells, needles, tokens, trains and faults, nothing else.
// It never shows what a real signaller could not know.
type View struct {
	Box    BoxID        `json:"box"`
	At     time.Time    `json:"at"`
	OnDuty bool         `json:"onDuty"`
	Since  time.Time    `json:"since,omitzero"` // of duty
	Open   bool         `json:"open"`           // switched in
	Ears   string       `json:"ears,omitempty"` // heard, not heard; empty: bells not tried
	Paused bool         `json:"paused,omitempty"`
	Shelf  []Instrument `json:"shelf"`

	// What is in the signaller's mind and on no instrument; Rules.View leaves it empty, Rules.Next asks for it.
	Sends []Sending   `json:"-"` // trains to be offered on, in order, as soon as each may be
	Says  []Saying    `json:"-"` // signals of no train: opening, closing, testing
	Full  []SectionID `json:"-"` // lines from which no train can be taken now: no road free, the platform occupied
}

// Saying is a signal that concerns no train and that a box means to give.
type Saying struct {
	Circuit CircuitID
	Key     CodeKey
	From    time.Time // not sooner
}

// Sending is a train that a box means to send on.
type Sending struct {
	Train   TrainID
	Section SectionID
	Beats   Beats
	From    time.Time // not to be offered sooner
	Follows bool      // of a line worked by staff: the next train on it goes the same way
}

// Instrument is one bell and the indicators that go with it, as it stands on the block shelf. Instruments are
// in line order; those of boxes that do not work with this one at present are left out.
type Instrument struct {
	Circuit CircuitID  `json:"circuit"`
	To      BoxID      `json:"to"` // the neighbour
	Name    string     `json:"name"`
	Side    string     `json:"side"`            // where Down trains come from, "up", or go to, "down": the neighbour's side
	Method  string     `json:"method"`          // absolute, token, permissive
	Level   Level      `json:"level"`           // of the apparatus
	Staffed bool       `json:"staffed"`         // somebody is on duty there
	Lines   []LineView `json:"lines"`           // toward this box first
	Heard   *Heard     `json:"heard,omitempty"` // the last code from the other end
	Sent    *Heard     `json:"sent,omitempty"`  // this box's own last code
	// What stands open between the two, as both know it by their bells.
	Called   BoxID      `json:"called,omitempty"`  // who called attention and has not been answered
	CalledAt time.Time  `json:"calledAt,omitzero"` // and when
	Has      BoxID      `json:"has,omitempty"`     // who called and was answered: he has the word
	HasSince time.Time  `json:"hasSince,omitzero"` // and since when
	Offers   []Pending  `json:"offers,omitempty"`  // is line clear?, not yet answered
	Waiting  []Pending  `json:"waiting,omitempty"` // another signal not yet answered
	Danger   bool       `json:"danger,omitempty"`  // six beats are in force
	Pilot    *PilotView `json:"pilot,omitempty"`   // a pilotman works between the two
}

// PilotView is a pilotman as the box knows of him.
type PilotView struct {
	Section SectionID `json:"section"`          // in place of which line or token he works
	Form    bool      `json:"form,omitempty"`   // his form was received here
	Far     bool      `json:"far,omitempty"`    // and at the other end
	Here    bool      `json:"here,omitempty"`   // he is at this box
	Riding  bool      `json:"riding,omitempty"` // he has gone with a train, or is about to
	With    TrainID   `json:"with,omitempty"`   // that train
}

// Pending is a signal that awaits its answer.
type Pending struct {
	By      BoxID     `json:"by"`
	Key     CodeKey   `json:"key"`
	Beats   Beats     `json:"beats"`
	First   time.Time `json:"first"`
	Section SectionID `json:"section,omitempty"`
	Train   TrainID   `json:"train,omitempty"`
	Again   bool      `json:"again,omitempty"` // of an offer: the train is accepted already; its description is mended, or he had not heard
}

// LineView is one line of an instrument.
type LineView struct {
	Section   SectionID `json:"section"`
	Line      string    `json:"line"` // "Down Main"
	Way       string    `json:"way"`  // down, up, both
	ToMe      bool      `json:"toMe"` // this box turns the needle; else it is a repeater
	Shows     Aspect    `json:"shows"`
	Count     int       `json:"count,omitempty"`  // permissive: what the indicator counts
	In        int       `json:"in,omitempty"`     // … the trains on it by the bells
	Room      int       `json:"room,omitempty"`   // … and how many more it may take
	Standing  string    `json:"standing"`         // as the bells have it: IDLE, OFF, …, overlays joined on
	Signal    string    `json:"signal,omitempty"` // on, off: the section signal of a line from this box
	Home      bool      `json:"home,omitempty"`   // of a line to this box: its home signal is off by its lever
	Going     bool      `json:"going,omitempty"`  // of a line from this box: a train has passed that signal, and 2 is due
	Gone      bool      `json:"-"`                // of a single line: a train from this box has been seen to go, and is not given up
	Unasked   bool      `json:"-"`                // of a line from this box: 2 was rung for a train that nobody accepted or saw go
	Out       bool      `json:"out,omitempty"`    // of a line to this box: its train has passed whole, and 2-1 is due
	Foul      Place     `json:"foul,omitempty"`   // of a line to this box: what this box has standing in its way
	Collar    bool      `json:"collar,omitempty"`
	Engineers bool      `json:"engineers,omitempty"` // the line is given up to the engineers
	Train     TrainID   `json:"train,omitempty"`     // the train offered or accepted, if it was named
	Key       CodeKey   `json:"key,omitempty"`       // its class
	Beats     Beats     `json:"beats,omitempty"`     //
	Trains    []Spotted `json:"trains,omitempty"`    // in the section, as this box knows of them
	// Of a single line worked by token; it has no needle.
	Token *TokenView `json:"token,omitempty"`
	Staff *StaffView `json:"staff,omitempty"` // of one worked by staff
}

// TokenView is the token instrument of one box, and what the box knows of the token that is out.
type TokenView struct {
	Kind    string    `json:"kind"`              // token, tablet, electricStaff
	Shows   TokenWord `json:"shows"`             // the indicator
	Here    int       `json:"here"`              // tokens in this instrument
	Out     bool      `json:"out,omitempty"`     // one of the section is out
	Hand    string    `json:"hand,omitempty"`    // in whose hands: "box", this one; "train", to which this box gave it; else "away"
	Train   TrainID   `json:"train,omitempty"`   // that train
	Release bool      `json:"release,omitempty"` // the needle: the other end keeps its key down, and a token can be drawn
	Holding bool      `json:"holding,omitempty"` // this box keeps its key down
	Mine    bool      `json:"mine,omitempty"`    // the train offered, accepted or in the section goes from this box
	Shunt   bool      `json:"shunt,omitempty"`   // 5-2 has been answered, and 2-5 not yet
	Asks    bool      `json:"asks,omitempty"`    // it was this box that rang 5-2
	Bagged  int       `json:"bagged,omitempty"`  // tokens in the lineman's bag: none can be drawn
	Siding  int       `json:"siding,omitempty"`  // trains shut in at the siding between
	Failed  time.Time `json:"failed,omitzero"`   // since when it is known to give no release
	Back    bool      `json:"back,omitempty"`    // it is in again after being out, and 2-1, 2-5 or 3-5 has still to be given
}

// StaffView is the train staff of a line as the box knows of it.
type StaffView struct {
	Shows   StaffWord `json:"shows"`             // where the staff is
	Train   TrainID   `json:"train,omitempty"`   // that has it
	Tickets bool      `json:"tickets,omitempty"` // the line has tickets
	Block   bool      `json:"block,omitempty"`   // and block telegraph
	Open    bool      `json:"open,omitempty"`    // the ticket box here is open
	Showed  bool      `json:"showed,omitempty"`  // a driver has been shown the staff, and has no ticket yet
	Ready   bool      `json:"ready,omitempty"`   // staff or ticket is in a driver's hand here, and he has not gone
	Coming  bool      `json:"coming,omitempty"`  // the staff is on a train from the other end
	Out     []string  `json:"out,omitempty"`     // tickets issued and not given up
	Mine    bool      `json:"mine,omitempty"`    // the train offered, accepted or in the section goes from this box
	Says    string    `json:"says"`              // the same, in a sentence
	May     []Place   `json:"may"`               // what a hand can do here as things are, right or wrong
}

// StaffWord is where a staff is, seen from one box.
type StaffWord string

// The places of a staff.
const (
	StaffHere StaffWord = "here"
	StaffGone StaffWord = "gone" // with a train that this box gave it to
	StaffAway StaffWord = "away" // at the other end, or with a train from there
)

// TokenWord is what the indicator of a token instrument says.
type TokenWord string

// The words of the indicator of a key token instrument (other-methods reference, 2.1: from memory).
const (
	TokenIn    TokenWord = "in"     // token in
	GoingTo    TokenWord = "going"  // train going to the other end
	ComingFrom TokenWord = "coming" // train coming from it
	TokenGone  TokenWord = "out"    // token out, for no train that goes through
)
