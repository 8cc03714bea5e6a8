package sitting_test

import (
	"bytes"
	osfile "os"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
	"taillamp/web/sitting/sittingtest"
)

// keepers are all that there are: each a function that makes an empty one.
func keepers() map[string]func(t *testing.T) sitting.Keeper {
	return map[string]func(t *testing.T) sitting.Keeper{
		"memory": func(*testing.T) sitting.Keeper { return sitting.NewMemory() },
		"files":  func(t *testing.T) sitting.Keeper { return newFiles(t) },
	}
}

func newFiles(t *testing.T) *sitting.Files {
	t.Helper()
	k, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	return k
}

// The contract that stands at Keeper, point by point.
func TestKeepersKeepTheContract(t *testing.T) {
	for name, make := range keepers() {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, sittingtest.Keeper(t.Context(), make(t)))
		})
	}
}

// That of Post.
func TestPostInProcessKeepsTheContract(t *testing.T) {
	p := sitting.NewInProcess()
	require.NoError(t, sittingtest.Post(t.Context(), p, p))
}

// A line that was being written when the power went is cut off, and the record says so.
func TestTornTailIsCutOff(t *testing.T) {
	k := newFiles(t)
	s := newStage(t, k)
	mine := s.duty(ul)
	s.must(mine, block.Event{Do: block.Remark, Words: "fog"})
	was, state := s.live.Snapshot()
	require.NoError(t, s.live.Close(t.Context()))
	whole, err := osfile.ReadFile(k.Path("evening"))
	require.NoError(t, err)
	torn := append(bytes.Clone(whole), `{"seq":4,"event":{"do":"turn"`...)
	require.NoError(t, osfile.WriteFile(k.Path("evening"), torn, 0o644))

	s.again()
	at, resumed := s.live.Snapshot()
	require.Equal(t, state.Digest(), resumed.Digest())
	require.Equal(t, was.Seq+2, at.Seq)
	var cut block.Entry
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Mark == block.Cut {
			cut = e
		}
	}
	require.Equal(t, was.Seq+1, cut.Seq)
	require.Equal(t, int64(len(torn)-len(whole)), cut.Bytes)
	s.must(mine, block.Event{Do: block.Remark, Words: "clearing"})
}

// A record damaged in its middle is left as it is, and where it is damaged is said.
func TestDamagedRecordIsNotWritten(t *testing.T) {
	k := newFiles(t)
	s := newStage(t, k)
	mine := s.duty(ul)
	for _, words := range []string{"fog", "thicker", "clearing"} {
		s.must(mine, block.Event{Do: block.Remark, Words: words})
	}
	require.NoError(t, s.live.Close(t.Context()))
	text, err := osfile.ReadFile(k.Path("evening"))
	require.NoError(t, err)
	text = bytes.Replace(text, []byte("thicker"), []byte("thinner"), 1)
	require.NoError(t, osfile.WriteFile(k.Path("evening"), text, 0o644))

	_, err = sitting.NewHost(k, s.clock, "").Resume(t.Context(), "evening")
	require.ErrorIs(t, err, register.ErrDamaged)
	var damaged *register.DamagedError
	require.ErrorAs(t, err, &damaged)
	require.Equal(t, 5, damaged.Line)
	after, err := osfile.ReadFile(k.Path("evening"))
	require.NoError(t, err)
	require.Equal(t, text, after)
}

// What a sitting shows is what its file says, entry by entry, when it is stepped again.
func TestLiveStateIsTheReplayedState(t *testing.T) {
	s := newStage(t, newFiles(t))
	rear, advance := s.duty(ul), s.duty(os)
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "4")
	s.ring(advance, "4")
	s.must(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	s.settle()
	_, live := s.live.Snapshot()
	replayed, err := register.Replay(s.live.Rules(), s.live.Header().Began, s.live.Entries(t.Context()))
	require.NoError(t, err)
	require.Equal(t, live.Digest(), replayed.Digest())
}
