package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// Q13: a clock that is put back an hour, put on two and put back again: every act is done and kept, the record's times
// never run back, and the record opens again with all of them.
func TestClockIsPutBackAndOn(t *testing.T) {
	files, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	s := newStage(t, files)
	seat := s.duty(ul)
	for _, by := range []time.Duration{time.Minute, -time.Hour, time.Second, 2 * time.Hour, -time.Hour} {
		s.clock.Move(by)
		s.must(seat, block.Event{Do: block.Remark, Words: "the clock was moved by " + by.String()})
	}
	remarks := func() (n int) {
		var last time.Time
		for e, err := range s.live.Entries(t.Context()) {
			require.NoError(t, err)
			at := e.At
			if at.IsZero() {
				at = e.Event.At
			}
			require.False(t, at.Before(last), "entry %d", e.Seq)
			last = at
			if e.Event.Do == block.Remark {
				n++
			}
		}
		return n
	}
	require.NoError(t, s.live.Close(t.Context()))
	require.Equal(t, 5, remarks())
	s.clock.Move(-time.Hour)
	s.again()
	require.Equal(t, 5, remarks(), "and opens again by a clock that is behind its record")
}
