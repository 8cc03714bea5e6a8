package sitting_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// deed is a Lease moved by hand.
type deed struct {
	owner    string // who has it; empty: whoever asks
	lost     chan struct{}
	released int
}

func (d *deed) Hold(context.Context, string) (<-chan struct{}, string, error) {
	if d.owner != "" {
		return nil, d.owner, sitting.ErrInUse
	}
	return d.lost, "", nil
}

func (d *deed) Release(context.Context, string) error { d.released++; return nil }

// A host opens what its lease gives it and nothing else, and lets go of it at the end and after every failure.
func TestHostOpensWhatItsLeaseGives(t *testing.T) {
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	d := &deed{owner: "another"}
	host := sitting.NewHost(sitting.NewMemory(), sitting.NewHandClock(evening), "taillamp test").Under(d)
	_, err = host.Open(t.Context(), "evening", h)
	require.ErrorIs(t, err, sitting.ErrInUse)
	require.ErrorContains(t, err, "another has it")
	d.owner = ""
	_, err = host.Resume(t.Context(), "evening")
	require.ErrorIs(t, err, sitting.ErrNoSitting)
	require.Equal(t, 1, d.released, "what cannot be opened is let go of")
	live, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	require.Equal(t, 1, d.released)
	require.NoError(t, live.Close(t.Context()))
	require.Equal(t, 2, d.released)
}

// Who has lost his sitting to another process says so to everybody and writes nothing more.
func TestLostLeaseEndsTheSitting(t *testing.T) {
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	d := &deed{lost: make(chan struct{})}
	k := sitting.NewMemory()
	host := sitting.NewHost(k, sitting.NewHandClock(evening), "taillamp test").Under(d)
	live, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	seat, err := live.TakeDuty(t.Context(), ul, "")
	require.NoError(t, err)
	w, err := live.Watch(t.Context(), seat, sitting.Position{})
	require.NoError(t, err)
	close(d.lost)
	for range w.News {
	}
	require.ErrorIs(t, w.Why(), sitting.ErrLostRecord)
	w.Close()
	_, err = live.Act(t.Context(), seat, 1, block.Event{Do: block.Remark, Words: "too late"})
	require.ErrorIs(t, err, sitting.ErrLostRecord)
	require.ErrorIs(t, live.Trouble(), sitting.ErrLostRecord)
	<-live.Done()
	other, err := sitting.NewHost(k, sitting.NewHandClock(evening), "taillamp test").Resume(t.Context(), "evening")
	require.NoError(t, err, "the record is free")
	for e, err := range other.Entries(t.Context()) {
		require.NoError(t, err)
		require.NotEqual(t, "too late", e.Event.Words)
	}
	require.NoError(t, other.Close(t.Context()))
}
