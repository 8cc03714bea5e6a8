package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// card is one of those of any evening.
func card(t *testing.T, does block.Place) block.Card {
	t.Helper()
	for _, c := range block.UsualCards() {
		if c.Does == does {
			return c
		}
	}
	t.Fatalf("no card does %s", does)
	return block.Card{}
}

// happened are the acts of a kind in the record.
func (s *stage) happened(do block.Do) []block.Entry {
	s.t.Helper()
	var all []block.Entry
	for e, err := range s.live.Entries(s.t.Context()) {
		require.NoError(s.t, err)
		if e.Event.Do == do {
			all = append(all, e)
		}
	}
	return all
}

// noFindings asks that the review finds nothing.
func (s *stage) noFindings() {
	s.t.Helper()
	for f, err := range review.Of(s.live.Rules(), s.live.Entries(s.t.Context())) {
		require.NoError(s.t, err)
		s.t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
	}
}

// D15, H2: a card dealt is told to its box, and the line does what it says: the next train that fits has a hot box, UL rings 7
// and OS stops it. The record has the order as the owner's and what came of it as nobody's. Nothing is irregular. Without a
// company the card is words alone.
func TestLineDoesWhatACardSays(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Deal(t.Context(), card(t, block.HotBox), ul))
	require.Empty(t, s.happened(block.Happens), "nobody is there to do it")
	require.Len(t, s.happened(block.Remark), 1)

	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	require.NoError(t, s.live.Deal(t.Context(), card(t, block.HotBox), ul))
	ordered := s.happened(block.Happens)
	require.Len(t, ordered, 1)
	require.Equal(t, "owner", ordered[0].Seat)
	s.passes(nil, time.Hour, func() bool { return len(s.happened(block.Befalls)) == 2 })
	befell := s.happened(block.Befalls)
	require.Equal(t, down, befell[0].Event.Section)
	require.NotEmpty(t, befell[0].Event.Train)
	require.Empty(t, befell[0].Seat)
	require.True(t, befell[1].Event.Off)
	stopped := s.happened(block.Driver)
	require.Len(t, stopped, 1)
	require.Equal(t, os, stopped[0].Event.By)
	require.Equal(t, befell[0].Event.Train, stopped[0].Event.Train)
	s.noFindings()
	require.ErrorIs(t, s.live.Deal(t.Context(), card(t, block.HotBox), "XX"), block.ErrNoSuchBox)
}
