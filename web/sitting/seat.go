package sitting

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"taillamp/block"
)

// As is what somebody does at a tablet.
type As string

// What a seat may be for. Only a signaller at work acts, and the instruments on the layout that he works by; the others
// look on.
const (
	Work      As = "work"  // the signaller on duty
	BookLad   As = "book"  // keeps the box's book in sight
	LooksOn   As = "watch" // at one box, or with no box the whole line as the door shows it
	Instructs As = "owner" // at one box, with the owner's key: he is told all that its signaller is told
	Visiting  As = "visitor"
	Fitted    As = "instrument" // a real one on the layout, at work beside the tablet; its name stands for a ticket
)

// rings tells whether bells ring for a seat: they wait for nobody who looks on.
func (s Seat) rings() bool { return s.As == Work || s.As == Fitted }

// confided tells whether a seat is told what is for the signaller of its box alone.
func (s Seat) confided() bool { return s.As == Work || s.As == Instructs }

// watches tells whether a seat is that of somebody whom the signaller of its box is told of.
func (s Seat) watches() bool { return s.Box != "" && (s.As == LooksOn || s.As == Instructs) }

// Seat is one place at a sitting: a box, what for, and the ticket that was given for it. Only a signaller at work has
// a ticket.
type Seat struct {
	Box    block.BoxID
	As     As
	Ticket string
}

// name is the seat as the record has it. The ticket itself is not in there: whoever is shown a record can work no box
// with it.
func (s Seat) name() string {
	if s.As == Fitted {
		return string(s.Box) + " instrument " + s.Ticket
	}
	sum := sha256.Sum256([]byte("seat " + string(s.Box) + " " + s.Ticket))
	return string(s.Box) + " " + hex.EncodeToString(sum[:8])
}

// ticketLetters leave out those that look alike: 0 and O, 1, I and L, 5 and S, 2 and Z, 8 and B.
const ticketLetters = "34679ACDEFGHJKMNPQRTUVWXY"

// NewTicket is a ticket for one who asks for a seat: good for nothing until that is allowed.
func NewTicket() string { return newTicket() }

// newTicket makes a ticket that nobody can guess: three groups of five, some 69 bits.
func newTicket() string {
	var t strings.Builder
	for n := range 15 {
		if n > 0 && n%5 == 0 {
			t.WriteByte('-')
		}
		t.WriteByte(pick(ticketLetters))
	}
	return t.String()
}

// pick draws one letter, all alike likely.
func pick(letters string) byte {
	var b [1]byte
	for {
		_, _ = rand.Read(b[:]) // it never fails: the program would have ended
		if n := int(b[0]); n < 256/len(letters)*len(letters) {
			return letters[n%len(letters)]
		}
	}
}

// newEpoch names one opening of a record, so that a tablet notices that what it knew may never have been written.
func newEpoch() string {
	var b [4]byte
	_, _ = rand.Read(b[:]) // it never fails
	return hex.EncodeToString(b[:])
}

// seatLog is what a sitting remembers of the acts of one seat.
type seatLog struct {
	last    uint64 // highest act number
	answers [64]answered
}

// answered is what an act came to.
type answered struct {
	number uint64
	answer Answer
	err    error
}

// again gives the earlier answer to an act that was done before.
func (g *seatLog) again(number uint64) (reply, bool) {
	if number == 0 || number > g.last {
		return reply{}, false
	}
	if a := g.answers[number%uint64(len(g.answers))]; a.number == number {
		return reply{a.answer, a.err}, true
	}
	return reply{err: ErrForgotten}, true
}

func (g *seatLog) note(number uint64, r reply) {
	if number == 0 {
		return
	}
	g.last = max(g.last, number)
	g.answers[number%uint64(len(g.answers))] = answered{number, r.answer, r.err}
}
