package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/sim"
	"taillamp/web/sitting"
)

// F1: who looks back reads what has been recorded since he last looked, in a file as in memory, and how everything stood
// after any entry is what the whole record replayed up to it comes to.
func TestLookingBack(t *testing.T) {
	files, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	for name, k := range map[string]sitting.Keeper{"files": files, "memory": sitting.NewMemory()} {
		t.Run(name, func(t *testing.T) {
			s := newStage(t, k)
			mine := s.duty(ul)
			for n := range 20 {
				s.must(mine, block.Event{Do: block.Remark, Words: "fog"})
				s.clock.Move(time.Second)
				past, err := s.live.Past(t.Context())
				require.NoError(t, err)
				require.Len(t, past, n+3, "the opening, the duty and every remark")
				for i, e := range past {
					require.Equal(t, uint64(i+1), e.Seq)
				}
				if n%7 == 0 { // an earlier place is asked for between
					var from []uint64
					for e, err := range s.live.Entries(t.Context()) {
						require.NoError(t, err)
						from = append(from, e.Seq)
					}
					require.Len(t, from, n+3)
				}
			}
		})
	}
}

// F7, F8: a day of more than a thousand entries, looked at in no order.
func TestStoodAfterAnyEntry(t *testing.T) {
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	h.Began, h.Zone = time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC), "UTC"
	rules, err := h.Rules()
	require.NoError(t, err)
	k := sitting.NewMemory()
	record, err := k.Begin(t.Context(), "day", h)
	require.NoError(t, err)
	for e, err := range sim.Day(rules, sim.Options{Seed: 3, Begins: h.Began}) {
		require.NoError(t, err)
		require.NoError(t, record.Append(t.Context(), e))
	}
	require.NoError(t, record.Close())
	host := sitting.NewHost(k, sitting.NewHandClock(h.Began.Add(9*time.Hour)), "taillamp test")
	live, err := host.Resume(t.Context(), "day")
	require.NoError(t, err)
	past, err := live.Past(t.Context())
	require.NoError(t, err)
	require.Greater(t, len(past), 1100)
	for _, after := range []int{1100, 0, 1, 511, 512, 513, 1024, 700, len(past) - 1} {
		want, err := register.Replay(rules, h.Began, register.InOrder(past[:after]))
		require.NoError(t, err)
		got, err := live.Stood(t.Context(), uint64(after))
		require.NoError(t, err)
		require.Equal(t, want.Digest(), got.Digest(), "after entry %d", after)
	}
	beyond, err := live.Stood(t.Context(), uint64(len(past))+1000)
	require.NoError(t, err)
	_, now := live.Snapshot()
	require.Equal(t, now.Digest(), beyond.Digest())
}
