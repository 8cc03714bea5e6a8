package sitting_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// H3, D15: what the owner tells a box comes to its signaller's tablet alone, to none that looks in and to no other box;
// it stands there, after a stop too, until he says that he has read it. The telling and the reading are in the record.
func TestOwnerTellsOneSignaller(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	seat, other := s.duty(os), s.duty(ul)
	his, theirs, looks := s.watch(seat), s.watch(other), s.watch(sitting.Seat{Box: os, As: sitting.LooksOn})
	for _, w := range []*sitting.Watch{his, theirs, looks} {
		waiting(w)
	}
	require.ErrorIs(t, s.live.Read(t.Context(), seat), sitting.ErrAsItIs)
	require.NoError(t, s.live.Tell(t.Context(), []block.BoxID{os}, "Hot box. Smoke: the seventh wagon."))
	words := func(w *sitting.Watch) (all []*sitting.Words) {
		for _, n := range waiting(w) {
			if n.Words != nil {
				all = append(all, n.Words)
			}
		}
		return all
	}
	require.Equal(t, []*sitting.Words{{All: []string{"Hot box. Smoke: the seventh wagon."}}}, words(his))
	require.Empty(t, words(theirs))
	require.Empty(t, words(looks))
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	p, err := s.live.Present(t.Context(), seat)
	require.NoError(t, err)
	require.Equal(t, []string{"Hot box. Smoke: the seventh wagon."}, p.Words.All)
	p, err = s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.LooksOn})
	require.NoError(t, err)
	require.Nil(t, p.Words)
	for _, l := range p.Book {
		require.NotContains(t, strings.Join(l.Remarks, " "), "Smoke", "in no book")
	}
	require.ErrorIs(t, s.live.Read(t.Context(), other), sitting.ErrAsItIs)
	require.NoError(t, s.live.Read(t.Context(), seat))
	p, err = s.live.Present(t.Context(), seat)
	require.NoError(t, err)
	require.Empty(t, p.Words.All, "gone after it is read")
	var said []string
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Event.Do == block.Remark {
			said = append(said, e.Event.Words)
		}
	}
	require.Equal(t, []string{"To OS: Hot box. Smoke: the seventh wagon.", "Read at OS: Hot box. Smoke: the seventh wagon."}, said)

	require.NoError(t, s.live.Note(t.Context(), "To OS: no more than a remark"))
	p, err = s.live.Present(t.Context(), seat)
	require.NoError(t, err)
	require.Empty(t, p.Words.All)
	require.ErrorIs(t, s.live.Tell(t.Context(), []block.BoxID{"XX"}, "x"), block.ErrNoSuchBox)
	require.ErrorIs(t, s.live.Tell(t.Context(), nil, "x"), sitting.ErrNoAct)
}
