package block

import "time"

// Header is the first line of a record. It carries the texts themselves, not the names of files, so that a
// record explains itself in ten years.
type Header struct {
	Format  int               `json:"taillamp"` // 1
	Program string            `json:"program"`
	Sitting string            `json:"sitting"`
	Began   time.Time         `json:"began"`
	Zone    string            `json:"zone"`
	Layout  string            `json:"layout"`
	Books   map[string]string `json:"books"` // name → text, every book that a circuit uses
	Trains  string            `json:"trains,omitempty"`
	Times   string            `json:"times,omitempty"`
	Seed    uint64            `json:"seed,omitempty"` // of simulated people and trains
}

// Rules builds the rules of the sitting from the texts that the header carries.
func (h Header) Rules() (*Rules, error) { return rulesOf(h) }

// Mark is the record speaking of itself.
type Mark string

// The marks of a record.
const (
	Open  Mark = "open"  // a process took the record; from here a new epoch
	Cut   Mark = "cut"   // a torn tail was removed on opening
	Close Mark = "close" // the end is the end
)

// Entry is one event as recorded, with its outcome, or a mark.
type Entry struct {
	Seq     uint64    `json:"seq"`
	Seat    string    `json:"seat,omitempty"` // whose act, for at-most-once
	Act     uint64    `json:"act,omitempty"`
	Mark    Mark      `json:"mark,omitempty"`
	At      time.Time `json:"at,omitzero"`     // of a mark; an event has its own
	Epoch   string    `json:"epoch,omitempty"` // of an open mark
	Program string    `json:"program,omitempty"`
	Bytes   int64     `json:"bytes,omitempty"` // of a cut mark
	Event   Event     `json:"event,omitzero"`
	Outcome Outcome   `json:"outcome,omitzero"`
}
