package sitting

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// H1: whoever came first, a ring goes to the signallers and the instruments on the layout before anybody who looks on.
func TestBellsWaitForNobodyWhoLooksOn(t *testing.T) {
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	host := NewHost(NewMemory(), NewHandClock(time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)), "taillamp test")
	l, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	seat, err := l.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	for _, s := range []Seat{{Box: "OS", As: Instructs}, {Box: "OS", As: LooksOn}, seat, {Box: "OS", As: Instructs}, {Box: "OS", As: Fitted, Ticket: "bell"}, {Box: "OS", As: BookLad}} {
		w, err := l.Watch(t.Context(), s, Position{})
		require.NoError(t, err)
		defer w.Close()
	}
	var order []As
	require.NoError(t, l.run(t.Context(), func() {
		l.everybody(func(w *Watch) { order = append(order, w.seat.As) })
	}))
	require.Equal(t, []As{Fitted, Work, Instructs, LooksOn, Instructs, BookLad}, order)
}
