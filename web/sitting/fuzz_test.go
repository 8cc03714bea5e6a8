package sitting_test

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// FuzzWire throws any frames, one a line, at Decode and what it reads at a sitting. Nothing may bring the sitting down,
// the limits hold, and every act has one of its three endings.
func FuzzWire(f *testing.F) {
	for _, seed := range []string{
		`{"kind":"hello","proto":1,"sitting":"evening","box":"UL","as":"work","ticket":"Q7KD","have":{"epoch":"7c19e0","seq":412}}`,
		`{"kind":"act","act":1,"do":"beat","circuit":"UL-OS"}` + "\n" + `{"kind":"act","act":1,"do":"beat","circuit":"UL-OS"}`,
		`{"kind":"act","act":2,"do":"turn","section":"UL-OS Up Main","show":"clear","pressed":1773516600000.25}`,
		`{"kind":"act","act":3,"do":"train","section":"UL-OS Up Main","where":"passes","lamp":"seen","train":"3"}`,
		`{"kind":"act","act":4,"do":"slip","line":3}` + "\n" + `{"kind":"act","act":5,"do":"duty","off":true}`,
		`{"kind":"act","act":6,"do":"hold","circuit":"UL-OS"}` + "\n" + `{"kind":"act","act":7,"do":"hold","circuit":"UL-OS","off":true}`,
		`{"kind":"act","act":8,"do":"clock","words":"2m"}` + "\n" + `{"kind":"act","act":9,"do":"lever","section":"UL-OS Down Main"}`,
		`{"kind":"act","act":9007199254740993,"do":"rung","beats":"3-1"}`,
		`{"kind":"act","act":1e3,"pressed":-1}`, `{"kind":"clock","t0":1e308}`, `{"kind":7}`, `[]`, `null`, `{`,
	} {
		f.Add([]byte(seed))
	}
	var s *stage
	used := 0
	f.Fuzz(func(t *testing.T, text []byte) {
		if s == nil || used > 200 {
			s, used = freshStage(t), 0
		}
		used++
		s.t = t
		seat, err := s.live.TakeDuty(t.Context(), ul, "")
		require.NoError(t, err)
		for line := range bytes.Lines(text) {
			s.clock.Move(7 * time.Millisecond)
			frame, err := sitting.Decode(line)
			if err != nil {
				continue
			}
			require.LessOrEqual(t, len(line), sitting.FrameLimit)
			e, err := frame.Event()
			if err != nil {
				require.ErrorIs(t, err, sitting.ErrNoAct)
				continue
			}
			a, err := s.live.Act(t.Context(), seat, frame.Act, e)
			for _, never := range []error{sitting.ErrBroken, sitting.ErrNotKept, sitting.ErrOver, block.ErrBackwards} {
				require.False(t, errors.Is(err, never), "%v", err)
			}
			if err == nil {
				require.Contains(t, []block.Ending{block.Done, block.Refused}, a.Ending)
			}
		}
		if s.live.Holds(t.Context(), seat) {
			_, err := s.live.Act(t.Context(), seat, 1<<53+1, block.Event{Do: block.Duty, Off: true})
			require.NoError(t, err)
		}
		require.NoError(t, s.live.Trouble())
	})
}

// freshStage is a stage that outlives the test which made it; its sitting ends with the process.
func freshStage(t *testing.T) *stage {
	t.Helper()
	s := &stage{t: t, clock: sitting.NewHandClock(evening), keeper: sitting.NewMemory()}
	s.host = sitting.NewHost(s.keeper, s.clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	s.live, err = s.host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	return s
}
