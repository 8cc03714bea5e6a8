package sitting

import (
	"context"
	"fmt"
	"iter"
	"time"

	"taillamp/block"
)

// A Keeper keeps sittings. It may be used by several goroutines.
//
// Every Keeper keeps to this, and one test holds them all to it:
//  1. Begin makes a record that was not there: ErrExists if it was, ErrBadName if the name will not do.
//  2. Resume opens one that is there, at its end: ErrNoSitting if it is not. What was half written when the program
//     died is gone, and Record.Cut says how many bytes. A record damaged in its middle is register.ErrDamaged and is
//     left as it is.
//  3. A record that somebody has open is ErrInUse to everybody else in the process, until its Close. Between processes a
//     lock or a Lease says so; whoever was passed over all the same cannot write: ErrLostRecord.
//  4. What was appended is there after Resume, in order, and nothing else.
//  5. Names and Look open nothing and change nothing.
type Keeper interface {
	Begin(ctx context.Context, name string, h block.Header) (Record, error)
	Resume(ctx context.Context, name string) (Record, error)
	// Names lists the sittings kept, by name.
	Names(ctx context.Context) ([]string, error)
	// Look tells in short what is kept under a name.
	Look(ctx context.Context, name string) (Glance, error)
}

// A Record is one sitting open for writing by one owner. Entries may be read by others meanwhile.
type Record interface {
	Header() block.Header
	// Entries yields what is safely kept, in order, beginning behind the entry numbered after.
	Entries(ctx context.Context, after uint64) iter.Seq2[block.Entry, error]
	// Append returns when all entries are safe. They must be numbered on from the last. With any error nothing more
	// can be appended to this record, and none of these entries is in it, but for an UnsureError; ErrLostRecord says that
	// someone else owns it, or that it is closed.
	Append(ctx context.Context, entries ...block.Entry) error
	// Cut is the number of bytes of a torn tail that were removed on opening.
	Cut() int64
	Close() error
}

// Glance is what a bookcase shows of a sitting without opening it.
type Glance struct {
	Name  string
	Began time.Time
	Over  bool // it was ended; otherwise it can go on
}

const longestName = 64

// CheckName refuses a name that could mean another file or another place.
func CheckName(name string) error {
	if name == "" || len(name) > longestName {
		return fmt.Errorf("%w: %q", ErrBadName, name)
	}
	for _, c := range name {
		if (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (c < '0' || c > '9') && c != '-' {
			return fmt.Errorf("%w: %q", ErrBadName, name)
		}
	}
	return nil
}
