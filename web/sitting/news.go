package sitting

import (
	"reflect"
	"slices"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// Position is how far somebody has followed a sitting. Numbers of one epoch cannot be compared with those of another:
// a new one begins whenever a process takes the record, and beats that hung in the air may be gone.
type Position struct {
	Epoch string `json:"epoch"`
	Seq   uint64 `json:"seq"`
}

// News is one thing that a watcher is told. There is one for every entry of the record, even if nothing of it is to
// be seen from the watcher's box, so that he notices a gap. A beat that ended a code is told twice under its number:
// its ring at once, and what came of it when that is on the disk. A beat that rang while something before it still
// waited for the disk is told early, out of its turn, and its number alone once more in its turn.
type News struct {
	Position
	At      time.Time
	Came    time.Time // when the frame that asked for it was read, or else when it was taken; zero: it tells nothing new of the record
	Present *Present  // the whole picture: first of all, and after Watch.Sync
	Beat    bool      // a beat was pressed somewhere; nothing but Ring, or Press, is set
	Early   bool      // it is told out of its turn: the position does not count
	Ring    *block.Ring
	Press   *Press // for one who watches the box at which the beat was pressed
	Changes []block.Change
	Lines   []register.Line // register lines of the box that changed
	View    *block.View     // if anything in it changed
	Notice  []register.Expected
	Door    []Staffing    // for a watcher without a box, if anything in it changed
	Fitted  []Instrument  // nothing was recorded by it: the real instruments of the box, one of them on or off the wire
	Phones  []Telephone   // of the box, if anything happened at one
	Time    *DistrictTime // as it goes on from At, where the evening was paused or let go on
	Words   *Words        // for the signaller of a box alone: what he has been told and has not read
	Asks    *Asking       // nothing was recorded: somebody asks for the box, or does no more; for its signaller
	Away    *Absent       // nothing was recorded: the tablet of a neighbour has gone off the wire, or is back on it
	Watched *Onlookers    // nothing was recorded: who looks on at the box, for its signaller
	Shows   *Shows        // nothing was recorded: what the signaller's tablet shows besides, for whoever instructs there
	Fact    *Fact         // for a visitor: what happened, whole; he is to be told of it only what anybody may know
}

// Fact is one recorded entry and the state after it.
type Fact struct {
	Entry block.Entry
	State block.State
}

// Absent tells of the tablet of a box: off the wire, or on it again.
type Absent struct {
	Box block.BoxID `json:"box"`
	Off bool        `json:"off"`
}

// Present is the picture that a tablet shows, as of one position. Sound is never part of it.
type Present struct {
	Position
	At       time.Time
	Acted    uint64 // highest act number of the seat
	View     *block.View
	Book     []register.Line
	Notice   []register.Expected
	Door     []Staffing
	Time     DistrictTime
	Settings block.Settings
	Missed   []block.Heard // what the other ends rang since the position the watcher had
	Fitted   []Instrument  // the real instruments that the box has had on the wire
	Phones   []Telephone
	Words    *Words
	Asks     *Asking       // for the signaller at work: who asks for his box
	Watched  *Onlookers    // for the signaller at work: who looks on
	Shows    *Shows        // for whoever instructs: what the signaller's tablet shows besides
	Away     []block.BoxID // neighbours that have a signaller whose tablet is off the wire
	Unknown  bool          // what was missed cannot be told: that position is of another epoch
}

// Staffing is one box as the door shows it.
type Staffing struct {
	Box       block.BoxID `json:"box"`
	Name      string      `json:"name"`
	OnDuty    bool        `json:"onDuty"`
	Since     time.Time   `json:"since,omitzero"`
	Who       string      `json:"who,omitempty"`  // as he signed the book
	Ears      string      `json:"ears,omitempty"` // heard, not heard; empty: bells not tried
	Open      bool        `json:"open"`
	Taken     bool        `json:"taken"`               // somebody at a tablet has it
	Far       bool        `json:"far,omitempty"`       // its tablet is on another network, as at somebody's home
	Simulated bool        `json:"simulated,omitempty"` // a simulated signaller works it: anybody may take it
}

// DistrictTime is the time that the district's registers are kept in.
type DistrictTime struct {
	Kind  string  `json:"kind"`  // none, real, scaled
	At    float64 `json:"at"`    // seconds after the district's midnight, at the moment of the frame
	Speed float64 `json:"speed"` // district seconds in a real one
}

// districtTime is what the district's clock shows.
func (l *Live) districtTime(now time.Time) DistrictTime {
	k := l.rules.Layout().Clock
	d := DistrictTime{Kind: k.Kind, Speed: l.District().Speed()}
	t := l.District().At(now)
	y, m, day := t.Date()
	d.At = t.Sub(time.Date(y, m, day, 0, 0, 0, 0, t.Location())).Seconds()
	return d
}

// notice is how many trains of the sequence a box is shown.
const notice = 12

// boxDesk is what a sitting keeps at hand for one box.
type boxDesk struct {
	id        block.BoxID
	name      string
	book      *register.Book
	view      block.View // as last told
	notice    []register.Expected
	hears     map[block.CircuitID]bool // its own circuits
	holder    string                   // seat name of the signaller on duty; empty: nobody at a tablet
	who       string                   // as he signed
	seen      bool                     // his tablet has been on the wire since this process took the record
	watched   int                      // how many watch it
	at        int                      // how many of them at work: none or one
	far       bool                     // his tablet is on another network
	fitted    []Instrument             // real instruments on the layout, in the order in which they came
	asking    *asking                  // somebody who asks for the box; see relief.go
	told      []string                 // what its signaller is to read; see told.go
	toTell    bool                     // that changed
	lad       string                   // seat name of who keeps the register beside the signaller
	watchedBy *Onlookers               // who looks on, as its signaller has been told; nil: nobody
	shows     *Shows                   // what his tablet said last that it shows
	left      time.Time                // when his tablet went off the wire; zero: it is on it, or never was
}

// desks lays out a desk for every box of the layout, in layout order.
func desks(r *block.Rules, began time.Time) []*boxDesk {
	var all []*boxDesk
	for _, b := range r.Layout().Boxes {
		d := &boxDesk{id: b.ID, name: b.Name, book: register.NewBook(r, b.ID, began), hears: make(map[block.CircuitID]bool)}
		for _, c := range r.Circuits() {
			if c.Boxes[0] == b.ID || c.Boxes[1] == b.ID {
				d.hears[c.ID] = true
			}
		}
		all = append(all, d)
	}
	return all
}

// taken tells whether a tablet has the box. One that was never seen since the sitting was gone on with does not: an
// evening broken off last week may be gone on with by other people.
//
// Nor does one that has been silent for a while: its battery may be flat, and the box must be worked.
func (d *boxDesk) taken(now time.Time) bool {
	return d.holder != "" && d.seen && (d.left.IsZero() || now.Sub(d.left) < silent)
}

// silent is how long a tablet may be off the wire until another may have its box.
const silent = 10 * time.Second

func (l *Live) desk(box block.BoxID) *boxDesk {
	for _, d := range l.desks {
		if d.id == box {
			return d
		}
	}
	return nil
}

// publish tells one recorded fact to everybody concerned, and its number to the rest.
func (l *Live) publish(f fact) {
	var door []Staffing
	if changesDoor(f.entry.Event.Do) {
		door = l.staffing(f.state)
	}
	told := make([]News, len(l.desks))
	for i, d := range l.desks {
		told[i] = l.tell(d, f)
		if f.phones != nil {
			told[i].Phones = f.phones[i]
		}
	}
	l.everybody(func(w *Watch) {
		n := News{Position: Position{l.epoch, f.entry.Seq}, At: f.entry.Event.At, Came: f.came, Door: door}
		if at := slices.IndexFunc(l.desks, func(d *boxDesk) bool { return d.id == w.seat.Box }); at >= 0 {
			n = told[at]
		} else if w.seat.As == Visiting {
			n.Fact = &Fact{f.entry, f.state}
		}
		l.send(w, &n)
	})
	if f.entry.Event.Do == block.Duty && !f.entry.Event.Off {
		l.turnOut(f.entry.Event.By, f.entry.Seat)
	}
}

// tell makes the news of one recorded fact for the box of a desk.
func (l *Live) tell(d *boxDesk, f fact) News {
	n := News{Position: Position{l.epoch, f.entry.Seq}, At: f.entry.Event.At, Came: f.came}
	rows := d.book.Write(f.entry)
	if d.watched == 0 && len(f.entry.Outcome.Changes) == 0 {
		return n
	}
	v := l.rules.View(f.state, d.id)
	n.Changes = l.known(d, v, f.entry)
	l.remember(d, f.entry.Seq, n.Changes)
	if d.watched == 0 {
		return n
	}
	for _, r := range rows {
		n.Lines = append(n.Lines, d.book.Line(r))
	}
	if !sameView(v, d.view) {
		d.view = v
		n.View = &v
	}
	if f.entry.Event.Do == block.Pace {
		t := l.districtTime(n.At)
		n.Time = &t
	}
	if next := l.expected(d, f.entry.Event.At); !reflect.DeepEqual(next, d.notice) {
		d.notice = next
		n.Notice = next
	}
	return n
}

func sameView(a, b block.View) bool {
	a.At, b.At = time.Time{}, time.Time{}
	return reflect.DeepEqual(a, b)
}

func (l *Live) expected(d *boxDesk, now time.Time) []register.Expected {
	at := -1
	if t := l.districtTime(now); t.Kind != "none" {
		at = int(t.At)
	}
	return d.book.Expected(notice, at)
}

// known keeps of an event's changes those that the box of a desk may know of: its own bells and needles, and what was
// done with its own levers, reminders and tokens. A failed instrument shows itself by failing.
func (l *Live) known(d *boxDesk, v block.View, e block.Entry) []block.Change {
	var known []block.Change
	for _, c := range e.Outcome.Changes {
		if l.mayKnow(d, v, e.Event, c) {
			known = append(known, c)
		}
	}
	return known
}

func (l *Live) mayKnow(d *boxDesk, v block.View, e block.Event, c block.Change) bool {
	switch {
	case c.Code != nil:
		return d.hears[c.Code.Circuit] && (c.Code.By == d.id || heardThere(v, c.Code.Circuit))
	case c.Signal != nil:
		return d.hears[c.Signal.Circuit] && (c.Signal.By == d.id || heardThere(v, c.Signal.Circuit))
	case c.Indicator != nil:
		s, ok := l.rules.Section(c.Indicator.Section)
		return ok && (s.Rear == d.id || s.Advance == d.id)
	case c.Lever != nil:
		s, ok := l.rules.Section(c.Lever.Section)
		return ok && s.Rear == d.id
	case c.Home != nil:
		s, ok := l.rules.Section(c.Home.Section)
		return ok && s.Advance == d.id
	case c.Collar != nil:
		return c.Collar.Box == d.id
	case c.Token != nil:
		return c.Token.Box == d.id
	case c.Pilot != nil:
		return c.Pilot.Box == d.id
	case c.Engineers != nil:
		s, ok := l.rules.Section(c.Engineers.Section)
		return ok && (s.Rear == d.id || s.Advance == d.id)
	case c.Train != nil:
		return e.By == d.id
	case c.Duty != nil:
		return c.Duty.Box == d.id
	case c.Switched != nil:
		return c.Switched.Box == d.id
	}
	return false
}

// heardThere tells whether the bell of that circuit speaks at the box of a view: a dead one shows nothing as heard.
func heardThere(v block.View, c block.CircuitID) bool {
	for _, i := range v.Shelf {
		if i.Circuit == c {
			return i.Heard != nil
		}
	}
	return false
}

// staffing is every box as the door shows it.
func (l *Live) staffing(s block.State) []Staffing {
	all := make([]Staffing, 0, len(l.desks))
	for _, d := range l.desks {
		v := l.rules.View(s, d.id)
		all = append(all, Staffing{Box: d.id, Name: d.name, OnDuty: v.OnDuty, Since: v.Since, Who: d.who, Ears: v.Ears,
			Open: v.Open, Taken: d.taken(l.now()), Far: d.far && d.at > 0, Simulated: l.simulated(d.id)})
	}
	return all
}

// changesDoor tells whether an event may change what the door shows.
func changesDoor(d block.Do) bool { return d == block.Duty || d == block.Ears || d == block.Switch }

// rang is a code that somebody heard, for those who come back and ask what they missed.
type rang struct {
	seq  uint64
	to   block.BoxID
	code block.Heard
}

// remembered is how many codes are kept to tell what was missed.
const remembered = 256

// remember notes the codes that a box heard from the other ends.
func (l *Live) remember(d *boxDesk, seq uint64, known []block.Change) {
	for _, c := range known {
		if c.Code != nil && c.Code.By != d.id {
			l.rang = append(l.rang, rang{seq, d.id, *c.Code})
		}
	}
	if over := len(l.rang) - remembered; over > 0 {
		l.rang = slices.Delete(l.rang, 0, over) // in place: a copy would be 20 kB for each code
	}
}

// missed is what a box heard behind a position.
func (l *Live) missed(box block.BoxID, have Position) []block.Heard {
	var codes []block.Heard
	for _, r := range l.rang {
		if r.to == box && r.seq > have.Seq {
			codes = append(codes, r.code)
		}
	}
	return codes
}
