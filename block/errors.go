package block

import "errors"

// The ways in which an event cannot be. Step wraps them with the act and the box; nothing is recorded then.
var (
	ErrNoSuchBox    = errors.New("block: no such box")
	ErrNoSuchLine   = errors.New("block: no such line between two boxes")
	ErrNotYours     = errors.New("block: that instrument is in another box")
	ErrOffDuty      = errors.New("block: nobody is on duty in that box")
	ErrOnDuty       = errors.New("block: somebody is on duty in that box already")
	ErrCutOut       = errors.New("block: those two boxes do not work with one another at present")
	ErrNoTrain      = errors.New("block: that train is not there")
	ErrNoToken      = errors.New("block: there is no such token there")
	ErrNoPilotman   = errors.New("block: the pilotman is not there")
	ErrNotGivenUp   = errors.New("block: that line is not given up to the engineers")
	ErrGivenUp      = errors.New("block: that line is given up to the engineers already")
	ErrNoSwitch     = errors.New("block: that box has no closing switch")
	ErrNoEntry      = errors.New("block: no such entry in that box's book")
	ErrNoInstrument = errors.New("block: that line has no such instrument; it carries bells only")
	ErrNoClass      = errors.New("block: no train is offered by that code where it begins")
	ErrThereIs      = errors.New("block: a train of that number is in the sequence, or was")
	ErrFormsAnother = errors.New("block: another train is formed of the stock of that one")
	ErrBackwards    = errors.New("block: the event is older than the state")
	ErrNoSense      = errors.New("block: the event lacks what its kind needs")
	ErrPaused       = errors.New("block: the evening is paused")
)
