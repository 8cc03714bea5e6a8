package block

// The names of the methods, as a layout writes them.
const (
	absoluteName         = "absolute"
	tokenName            = "token"
	permissiveName       = "permissive"
	trackCircuitName     = "trackCircuit"
	oneTrainName         = "oneTrain"
	staffTicketName      = "staffTicket"
	staffTicketBlockName = "staffTicketBlock"
)

// method is how the lines of one circuit are worked. What it is given has been sorted already: whose signal a code
// is and that it may be rung; what remains is what it does to the lines and which rule it breaks.
//
// l is the end of the circuit that the line leaves; x the end at which the acting box stands.
type method interface {
	// own works a signal that the box rings of its own accord. codes are what the beats may mean in the book.
	own(w *work, x int, g *group, codes []*Code)
	// answered works the exact repetition, by the box at end x, of the other box's signal o.
	answered(w *work, x int, o *open, g *group)
	// hold is the bell key kept down after the last beat, or let go.
	hold(w *work, x int, down bool) error
	turn(w *work, x, l int, show Aspect) error
	lever(w *work, x, l int, off bool) error
	release(w *work, x, l int) error
	train(w *work, l int) error
	told(w *work, l int) error
	driver(w *work, l int) error
	foul(w *work, x, l int) error
	// token is a token drawn, put back, handed over or given up at the box at end x.
	token(w *work, x int) error
	// standing is the line as the notes form prints it.
	standing(t *talk, l int) string
}

// methodOf finds a method by its name; nil if there is none.
func methodOf(name string) method {
	switch name {
	case absoluteName:
		return absolute{}
	case tokenName, "tablet", "electricStaff":
		return keyToken{}
	case permissiveName:
		return permissive{}
	case trackCircuitName:
		return trackCircuit{}
	case oneTrainName:
		return staff{}
	case staffTicketName:
		return staff{tickets: true}
	case staffTicketBlockName:
		return staff{tickets: true, block: true}
	}
	return nil
}

func (absolute) token(*work, int) error { return ErrNoInstrument }
