//go:build fleet

package fleet_test

import (
	"context"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/stretchr/testify/require"

	"taillamp/web/sitting/fleet"
	"taillamp/web/sitting/sittingtest"
)

// patience is how long a test waits for what must come; it decides nothing but when to give up.
const patience = time.Minute

func join(t *testing.T, s *server.Server, me string) *fleet.Directory {
	t.Helper()
	d, err := fleet.Join(t.Context(), connect(t, s), me)
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, done := context.WithTimeout(context.Background(), time.Second)
		defer done()
		_ = d.Leave(ctx) // some tests have it gone already
	})
	return d
}

// until waits for something that comes by itself.
func until(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !is(); {
		require.True(t, time.Now().Before(end), "never: %s", what)
		<-time.After(10 * time.Millisecond)
	}
}

func TestDirectoryKeepsTheLeasesContract(t *testing.T) {
	node := alone(t)
	require.NoError(t, sittingtest.Lease(t.Context(), join(t, node, "a"), join(t, node, "b")))
}

// What a dead process had can be taken; what a living one has cannot, however long it is silent about it. The one that
// was thought dead and comes back learns that it has lost.
func TestSittingOfADeadProcessIsTaken(t *testing.T) {
	node := alone(t)
	a, b := join(t, node, "a"), join(t, node, "b")
	lost, _, err := a.Hold(t.Context(), "one")
	require.NoError(t, err)
	until(t, "b hears who has it", func() bool { return b.Owner("one") == "a" })
	a.Sleep()
	until(t, "b hears nothing of a any more", func() bool { return b.Owner("one") == "" })
	until(t, "b takes it", func() bool {
		_, _, err := b.Hold(t.Context(), "one")
		return err == nil
	})
	until(t, "a hears that it has lost", func() bool {
		select {
		case <-lost:
			return true
		default:
			return false
		}
	})
}

// Sittings without an owner fall to the living processes in about equal numbers, each to the same one whoever asks,
// and none to one that drains.
func TestSittingsFallToTheLiving(t *testing.T) {
	node := alone(t)
	a, b, c := join(t, node, "a"), join(t, node, "b"), join(t, node, "c")
	all := []*fleet.Directory{a, b, c}
	until(t, "all know one another", func() bool { return len(a.Living()) == 3 && len(b.Living()) == 3 && len(c.Living()) == 3 })
	fell := make(map[string]int)
	for n := range 300 {
		to := a.Falls(name(n))
		fell[to]++
		for _, d := range all {
			require.Equal(t, to, d.Falls(name(n)))
		}
	}
	for _, p := range []string{"a", "b", "c"} {
		require.InDelta(t, 100, fell[p], 40, p)
	}
	require.NoError(t, c.Drain(t.Context()))
	until(t, "c is known to drain", func() bool {
		for n := range 300 {
			if a.Falls(name(n)) == "c" {
				return false
			}
		}
		return len(a.Living()) == 3
	})
}
