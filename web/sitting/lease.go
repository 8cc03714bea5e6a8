package sitting

import "context"

// A Lease is the right to own a sitting, where several processes could. It is never what the record's safety rests on:
// a lease can lapse while its holder sleeps, and then it is the Record that refuses him with ErrLostRecord.
//
// Every Lease keeps to this, and one test holds them all to it:
//  1. Hold gives a sitting to one holder. To everybody else it is ErrInUse, with the owner's name, until Release.
//  2. What one holds already is held again.
//  3. lost is closed when another has the sitting, or nobody can tell any more who has. It stays open otherwise.
//  4. Release of what one does not hold does nothing.
type Lease interface {
	Hold(ctx context.Context, sitting string) (lost <-chan struct{}, owner string, err error)
	Release(ctx context.Context, sitting string) error
}

// alone is the lease of a program that shares its sittings with no other: every one is its own for ever, and two
// programs in one folder are kept apart by the Keeper.
type alone struct{}

func (alone) Hold(context.Context, string) (<-chan struct{}, string, error) { return nil, "", nil }

func (alone) Release(context.Context, string) error { return nil }
