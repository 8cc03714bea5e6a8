package sitting

import "errors"

// The ways in which a sitting cannot do what it is asked. Nothing is recorded then.
var (
	ErrStale       = errors.New("sitting: the act came too late to be done now")
	ErrForgotten   = errors.New("sitting: an act of that number was done before and its answer is no longer known")
	ErrWrongTicket = errors.New("sitting: that ticket is not the one of the signaller on duty")
	ErrTaken       = errors.New("sitting: the box has a signaller")
	ErrNotForSeat  = errors.New("sitting: that seat only looks on")
	ErrUnderWay    = errors.New("sitting: that train has been offered already")
	ErrTimePast    = errors.New("sitting: that time has passed")
	ErrNoCompany   = errors.New("sitting: no simulated signallers and trains are there to do it")
	ErrAsItIs      = errors.New("sitting: it is so already, or cannot be as things stand")
	ErrNobodyOn    = errors.New("sitting: nobody is at the other end of the telephone")
	ErrNoAct       = errors.New("sitting: a tablet has no such act")
)

// The ways in which a sitting, or the watching of it, comes to an end.
var (
	ErrNotKept   = errors.New("sitting: not recorded, the disk refused")
	ErrOver      = errors.New("sitting: the sitting is over")
	ErrStopped   = errors.New("sitting: the program has been stopped")
	ErrSlow      = errors.New("sitting: the watcher fell too far behind")
	ErrTakenOver = errors.New("sitting: the seat was taken over on another tablet")
	ErrRelieved  = errors.New("sitting: the signaller has been relieved")
	ErrFreed     = errors.New("sitting: the owner has freed the box")
	ErrBroken    = errors.New("sitting: a fault in the program ended the sitting")
)

// The ways in which a record cannot be had.
var (
	ErrNoSitting  = errors.New("sitting: no sitting of that name is kept")
	ErrExists     = errors.New("sitting: a sitting of that name is kept already")
	ErrBadName    = errors.New("sitting: a name has letters, digits and hyphens only, 64 at most")
	ErrInUse      = errors.New("sitting: another program has that record open")
	ErrLostRecord = errors.New("sitting: the record is no longer ours to write")
)

// UnsureError says that a record failed and nobody knows whether what was to be written then stands in it. Whoever asked
// for it can find out when the record is gone on with.
type UnsureError struct{ Err error }

func (u *UnsureError) Error() string {
	return u.Err.Error() + "; whether it is in the record nobody knows"
}

func (u *UnsureError) Unwrap() error { return u.Err }

// TakenError tells who has a box that another asked for. It is an ErrTaken.
type TakenError struct {
	Who string // as he signed the book; empty if he gave no name
}

func (t *TakenError) Error() string { return ErrTaken.Error() + ": " + t.Who }

// Is makes every TakenError an ErrTaken.
func (t *TakenError) Is(target error) bool { return target == ErrTaken }
