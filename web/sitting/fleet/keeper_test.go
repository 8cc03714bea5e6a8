//go:build fleet

package fleet_test

import (
	"context"
	"net"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
	"taillamp/web/sitting/sittingtest"
)

var evening = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)

// alone starts an engine of one node.
func alone(t testing.TB) *server.Server {
	t.Helper()
	s, err := fleet.Node{Dir: t.TempDir()}.Start()
	require.NoError(t, err)
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	return s
}

// connect is one process's connection to a node.
func connect(t testing.TB, s *server.Server) *fleet.Engine {
	t.Helper()
	e, err := fleet.ConnectTo(s)
	require.NoError(t, err)
	t.Cleanup(e.Close)
	require.NoError(t, e.Ready(t.Context()))
	return e
}

func header() block.Header {
	return block.Header{Format: register.Format, Program: "taillamp test", Sitting: "one", Began: evening, Layout: "…"}
}

func remark(seq uint64, words string) block.Entry {
	return block.Entry{Seq: seq, Event: block.Event{Do: block.Remark, At: evening, By: "UL", Words: words},
		Outcome: block.Outcome{Ending: block.Done}}
}

func TestKeeperInTheEngineKeepsTheContract(t *testing.T) {
	require.NoError(t, sittingtest.Keeper(t.Context(), fleet.NewKeeper(connect(t, alone(t)))))
}

// Two processes take one sitting, as when the first sleeps past its lease: the second goes on, and the first cannot
// write one entry, neither then nor later, and learns that the sitting is no longer his.
func TestOwnerWhoSleptCannotWrite(t *testing.T) {
	node := alone(t)
	first, second := fleet.NewKeeper(connect(t, node)), fleet.NewKeeper(connect(t, node))
	slept, err := first.Begin(t.Context(), "one", header())
	require.NoError(t, err)
	require.NoError(t, slept.Append(t.Context(), remark(1, "a")))
	awake, err := second.Resume(t.Context(), "one")
	require.NoError(t, err)
	require.NoError(t, awake.Append(t.Context(), remark(2, "by the second")))
	require.ErrorIs(t, slept.Append(t.Context(), remark(2, "by the first")), sitting.ErrLostRecord)
	require.ErrorIs(t, slept.Append(t.Context(), remark(2, "by the first")), sitting.ErrLostRecord)
	require.NoError(t, awake.Append(t.Context(), remark(3, "by the second")))
	var words []string
	for e, err := range awake.Entries(t.Context(), 0) {
		require.NoError(t, err)
		words = append(words, e.Event.Words)
	}
	require.Equal(t, []string{"a", "by the second", "by the second"}, words)
	require.NoError(t, slept.Close())
	again, err := first.Resume(t.Context(), "one")
	require.NoError(t, err, "in its turn the first can go on")
	require.NoError(t, again.Append(t.Context(), remark(4, "by the first")))
	require.ErrorIs(t, awake.Append(t.Context(), remark(4, "by the second")), sitting.ErrLostRecord)
}

// A sitting that was begun by two at once is begun by one.
func TestSittingIsBegunOnce(t *testing.T) {
	node := alone(t)
	outcomes := make(chan error, 2)
	for range 2 {
		k := fleet.NewKeeper(connect(t, node))
		go func() {
			_, err := k.Begin(t.Context(), "one", header())
			outcomes <- err
		}()
	}
	a, b := <-outcomes, <-outcomes
	if a == nil {
		a, b = b, a
	}
	require.ErrorIs(t, a, sitting.ErrExists)
	require.NoError(t, b)
}

// Where the engine has gone nothing is kept, and the record says so within its patience.
func TestNothingIsKeptWithoutTheEngine(t *testing.T) {
	node := alone(t)
	k := fleet.NewKeeper(connect(t, node))
	r, err := k.Begin(t.Context(), "one", header())
	require.NoError(t, err)
	require.NoError(t, r.Append(t.Context(), remark(1, "a")))
	node.Shutdown()
	node.WaitForShutdown()
	ctx, done := context.WithTimeout(t.Context(), time.Minute)
	defer done()
	require.ErrorIs(t, r.Append(ctx, remark(2, "b")), sitting.ErrLostRecord)
	require.NoError(t, ctx.Err())
}

// What a stream holds is a record's file byte for byte, and reading it checks its chain.
func TestEngineHoldsTheFilesOwnLines(t *testing.T) {
	e := connect(t, alone(t))
	k := fleet.NewKeeper(e)
	r, err := k.Begin(t.Context(), "one", header())
	require.NoError(t, err)
	want, sum, err := register.AppendHeader(nil, header())
	require.NoError(t, err)
	for seq := uint64(1); seq < 20; seq += 2 {
		batch := []block.Entry{remark(seq, "x"), remark(seq+1, "y")}
		require.NoError(t, r.Append(t.Context(), batch...))
		for _, one := range batch {
			want, sum, err = register.AppendEntry(want, sum, one)
			require.NoError(t, err)
		}
	}
	got, err := k.Text(t.Context(), "one")
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

// Who does not know the nodes' secret is not let in by them.
func TestEngineAsksForTheSecret(t *testing.T) {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	at := free.Addr().String()
	require.NoError(t, free.Close())
	e, err := fleet.Node{Dir: t.TempDir(), Listen: at, Secret: "drawn-by-lot"}.Connect()
	require.NoError(t, err)
	defer e.Close()
	for _, who := range []string{"", "taillamp:guessed@"} {
		_, err = fleet.Connect("nats://" + who + at)
		require.ErrorIs(t, err, nats.ErrAuthorization, who)
	}
	known, err := fleet.Connect("nats://taillamp:drawn-by-lot@" + at)
	require.NoError(t, err)
	known.Close()
}
