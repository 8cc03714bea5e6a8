package block

import (
	"slices"
	"time"
)

// State is a whole district at one moment. Its zero value is of no use; begin with Rules.Opening.
//
// It is made of one part a circuit and one a box, in layout order. Copies share parts; a step copies the part it
// touches and never changes a shared one, so that its cost does not grow with the layout.
type State struct {
	at        time.Time
	count     uint64 // events taken since the opening
	paused    bool
	timetable *Timetable // as it stands; never changed, only put in place of another
	boxes     []*boxState
	circuits  []*circuitState
}

// boxState is what changes about a box.
type boxState struct {
	duty  bool
	since time.Time // of duty
	open  bool      // its closing switch is in
	ears  string    // heard, not heard; empty: not tried
}

// circuitState is one pair of bells and the lines they serve.
type circuitState struct {
	keys [2]key // by end: the hand at work there
	talk *talk  // what has been said and what it came to
	or   *twofold
}

// key is one bell key and what is known of the hand at it.
type key struct {
	hand    hand
	presses []time.Time // of the code in progress, oldest first
	arrived time.Time   // when the sitting took the last of them
	train   TrainID     // touched on the sequence notice for this code
	cut     []time.Time // presses of the last finished code, if it had no meaning: it may have been the half of one
	held    bool        // kept down on the last beat
	last    *Heard      // the last finished code
}

// twofold is a code that may be an answer or a signal of its own (absolute-block reference, 4.7). Both readings are
// kept going side by side until a needle turns or the next code comes, and then the better one is taken.
type twofold struct {
	talk   *talk   // the second reading: the sender's own signal
	first  verdict // what the reading as an answer has led to; the circuit's own talk goes with it
	second verdict // what the reading as an own signal has led to
}

// verdict is what understanding an act led to: how its codes were taken, and what was irregular.
type verdict struct {
	signals   []Signal
	irregular []Irregularity
}

// talk is a circuit as both boxes understand it: the bells, and the lines they speak of.
type talk struct {
	call   [2]call     // by caller
	offer  [2]*open    // by sender: is line clear?, not yet answered
	other  [2]*open    // by sender: another signal not yet answered
	slip   *slip       // a repetition that was not exact, nothing done on it yet
	danger [2]stage    // by sender of 6
	tested time.Time   // when 16 was last rung
	ending [2]farewell // by sender: 7-5-5 and 5-5-5
	dead   bool        // the bells have failed
	lines  [2]line     // lines[e] leaves the box at end e; a single line stands at 0
	token  tokenState  // of a token line
	pilot  pilotState
	staff  staffState // of a line worked by staff
}

// call is a call for attention.
type call struct {
	at       time.Time
	answered time.Time // zero: not yet
	last     time.Time // when a call of his was last answered, this one or an earlier
	open     bool      // rung, and not met by anything
	spent    bool      // its caller has had his say
}

// open is a signal that awaits its answer.
type open struct {
	code  *Code
	first time.Time // of its first beat
	line  int       // index into talk.lines; -1: none
	train TrainID   // said by the sender's touch on the sequence notice
	mends bool      // of a class code: it mends the description of a train already accepted
	again bool      // of a class code: the train is accepted already, and A had not heard it
	void  bool      // it had no meaning; its repetition binds nothing
}

// slip is a repetition that was not exact.
type slip struct {
	by    int // the end that rang it
	beats Beats
	first time.Time
	of    *open // what it ought to have repeated
}

// stage is how far something has got that needs an answer to bind both.
type stage uint8

const (
	none  stage = iota
	given       // rung: binds the box that rang it
	bound       // answered: binds both
)

// farewell is how far a box has got with closing or opening towards one neighbour.
type farewell struct {
	closing stage // 7-5-5
	opening stage // 5-5-5
}

// standing is where a line stands by its bells and handle (absolute-block reference, 4.1).
type standing uint8

const (
	idle  standing = iota
	off            // offered
	ofw            // warning given, its repetition awaited
	acc            // accepted
	acw            // accepted under the warning arrangement
	ent            // train entering section given, not answered
	lin            // train on line
	doubt          // arrived, not known whole
)

// String gives the standing as the notes form prints it.
func (s standing) String() string {
	return [...]string{"IDLE", "OFF", "OFW", "ACC", "ACW", "ENT", "LINE", "DOUBT"}[s]
}

// line is one absolute or permissive line: A is the box in rear, B the box in advance.
type line struct {
	shows     Aspect
	moved     time.Time // when the needle last moved
	count     int       // permissive: trains by the indicator
	stands    standing
	offer     *acceptance // offered or accepted
	second    *acceptance // a second acceptance, kept beside the first until that train is out
	used      bool        // a train has passed A's section signal on the acceptance
	mend      bool        // 5-3 answered: the next class code mends the description
	assist    stage       // engine assisting in rear: given with 2-2, bound until it is back or out
	outGiven  time.Time   // when the last train was given up, by 2-1 or 3-5 answered
	entered   time.Time   // when 2 was last rung
	bbIn      stage       // blocking back inside the home signal
	bbOut     stage       // outside
	fwd       stage       // shunt in forward section
	runaway   bool
	warned    bool  // the driver of the next train has been cautioned
	foul      Place // truth at B: inside, moving, outside; empty: free
	signal    bool  // A's section signal is off
	home      bool  // B's home signal is off, where its lever is worked here
	pulled    bool  // it has been pulled on this line clear
	passedOn  bool  // a train has passed on this line clear
	released  bool  // the sealed release has freed B's handle
	collar    [2]bool
	doubted   bool // the needle has said already what a 2-1 in doubt would say
	broken    bool // the indicator has failed
	engineers possession
	trains    []occupant
}

// acceptance is a train offered, and accepted or not.
type acceptance struct {
	code    *Code
	first   time.Time // of the offer
	at      time.Time // of the acceptance; zero: not accepted
	warning bool      // under regulation 5
	gone    bool      // of a second acceptance: a train has gone on it
	train   TrainID
}

// occupant is a train that is in a section, in truth or as the bells have it. It stays in the list until the line
// is free of it and it has been given up.
type occupant struct {
	id       TrainID
	left     time.Time // when it passed A's section signal; zero if only 2 speaks of it
	two      time.Time // when 2 was rung for it; zero: not yet
	at       time.Time // when it was last seen by B
	seen     Place     // by B: stands, heads, arrives, passes, clear; empty: not yet
	lamp     Lamp      // as B saw it
	whole    bool      // found complete after a doubt
	told     bool      // B was told by guard, shunter or telephone that it is complete
	given    bool      // given up by an answered 2-1 or 3-5, rightly or not
	shunt    bool      // there under 3-3-2
	parted   bool      // it has divided
	found    bool      // its going was found irregular (R29, R30): its 2 belongs to that
	accepted bool      // it went on an acceptance
	from     int       // of a single line: the end it left
	coaching bool      // of a permissive line: it counts as a passenger train
}

// sight notes where a box saw the train, and what of its lamp.
func (o *occupant) sight(e *Event) {
	if o.id == "" {
		o.id = e.Train
	}
	o.seen, o.at = e.Where, e.At
	if e.Lamp != LampUnseen {
		o.lamp = e.Lamp
	}
}

// out tells whether the line is free of the train, as far as B could see or was told.
func (o *occupant) out() bool {
	return o.told || o.seen == IsClear || o.seen == Passes && o.proved()
}

// proved tells whether B knows the train to be complete.
func (o *occupant) proved() bool {
	return o.told || o.whole || o.lamp == LampSeen || o.lamp == LampOut
}

// incomplete tells whether B saw it go by or arrive without being able to call it whole.
func (o *occupant) incomplete() bool {
	return (o.seen == Passes || o.seen == Arrives) && !o.proved()
}

// At is the time of the last event.
func (s State) At() time.Time { return s.at }

// Opening returns the state in which a sitting begins: every line normal, every token in its instrument, nobody
// on duty but in boxes that the layout calls staffed.
func (r *Rules) Opening(at time.Time) State {
	s := State{at: at, timetable: r.timetable, boxes: make([]*boxState, len(r.boxes)), circuits: make([]*circuitState, len(r.circuits))}
	for i, b := range r.boxes {
		s.boxes[i] = &boxState{duty: b.Staffed && !b.Out, since: at, open: !b.Out}
	}
	for i := range r.circuits {
		s.circuits[i] = &circuitState{talk: fresh()}
		r.stock(&r.circuits[i], s.circuits[i].talk)
		r.placeStaff(&r.circuits[i], s.circuits[i].talk)
	}
	return s
}

// works tells whether the circuit joins its two boxes at this moment.
func (s *State) works(p *circuitPlan) bool {
	for _, b := range p.boxes {
		if !s.boxes[b].open {
			return false
		}
	}
	for _, b := range p.between {
		if s.boxes[b].open {
			return false
		}
	}
	return true
}

// box gives the event its own copy of a box's part.
func (s *State) box(n int) *boxState {
	b := *s.boxes[n]
	s.boxes = slices.Clone(s.boxes)
	s.boxes[n] = &b
	return &b
}

// circuit gives the event its own copy of a circuit's part, the understanding included.
func (s *State) circuit(n int) *circuitState {
	c := *s.circuits[n]
	t := *c.talk
	c.talk = &t
	s.circuits = slices.Clone(s.circuits)
	s.circuits[n] = &c
	return &c
}

// train returns the index of the train among the line's occupants, oldest first; -1 if it is not there.
// An empty id finds the oldest that has not been given up.
func (l *line) train(id TrainID) int {
	for i := range l.trains {
		if id == "" && !l.trains[i].given || id != "" && l.trains[i].id == id {
			return i
		}
	}
	return -1
}

// change gives the line its own copy of the list of trains, before one of them is altered.
func (l *line) change(i int) *occupant {
	l.trains = slices.Clone(l.trains)
	return &l.trains[i]
}

func (l *line) remove(i int) { l.trains = slices.Delete(slices.Clone(l.trains), i, i+1) }
