// Package speaker rings bells on the host's own loudspeaker, for a shed where the bells hang on the wall.
//
// A plain build has no loudspeaker, so that it needs no C compiler; Open then says what to build. With the
// build tag speaker it has one: on Windows by that alone, elsewhere with cgo too, on Linux with the ALSA headers.
package speaker

import (
	"errors"
	"time"

	"taillamp/sounds"
)

// ErrNoSpeaker is the error of Open where the host has no loudspeaker that plays.
var ErrNoSpeaker = errors.New("speaker: no loudspeaker answers")

// ErrNotBuilt is the error of Open in a program built without a loudspeaker.
var ErrNotBuilt = errors.New("speaker: built without a loudspeaker")

// A Speaker is a loudspeaker that is open. It may be used by several goroutines.
type Speaker interface {
	// Strike rings a voice once, after a while or, if that is not positive, at once. It never waits. Two
	// strokes are as far apart in the air as their moments were, to the millisecond.
	Strike(v sounds.Voice, after time.Duration)
	// Lost is what became of the loudspeaker since it was opened; nil while it plays.
	Lost() error
	// Close silences it and gives it back.
	Close() error
}
