//go:build fleet

package fleet_test

import (
	"context"
	"fmt"
	"net"
	"os"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/HdrHistogram/hdrhistogram-go"
	"github.com/stretchr/testify/require"

	"taillamp/web/sitting/fleet"
)

// BenchmarkAppend measures what it takes until a batch of one entry is safe, every write synced, at one node and at
// three, from one sitting and from thirty at once. All nodes share this machine and its disk, so three nodes do three
// times the work here that each would do on a machine of its own.
func BenchmarkAppend(b *testing.B) {
	for _, nodes := range []int{1, 3} {
		for _, sittings := range []int{1, 30} {
			b.Run(fmt.Sprintf("nodes=%d/sittings=%d", nodes, sittings), func(b *testing.B) { appends(b, nodes, sittings) })
		}
	}
}

// nodesOf starts nodes in this process and connects to the first.
func nodesOf(tb testing.TB, nodes int) *fleet.Engine {
	tb.Helper()
	var peers []string
	for range nodes {
		free, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(tb, err)
		peers = append(peers, free.Addr().String())
		require.NoError(tb, free.Close())
	}
	var first *fleet.Engine
	for n := range nodes {
		node := fleet.Node{Dir: tb.TempDir()}
		if nodes > 1 {
			node.Peers = slices.Concat(peers[n:n+1], peers[:n], peers[n+1:])
		}
		e, err := node.Connect()
		require.NoError(tb, err)
		tb.Cleanup(e.Close)
		if first == nil {
			first = e
		}
	}
	within, done := context.WithTimeout(tb.Context(), patience)
	defer done()
	require.NoError(tb, first.Ready(within))
	return first
}

func appends(b *testing.B, nodes, sittings int) {
	first := nodesOf(b, nodes)
	k := fleet.NewKeeper(first)
	var mu sync.Mutex
	took := hdrhistogram.New(1, int64(time.Minute), 3)
	var all sync.WaitGroup
	start := make(chan struct{})
	each := b.N/sittings + 1
	for n := range sittings {
		r, err := k.Begin(b.Context(), name(n), header())
		require.NoError(b, err)
		all.Go(func() {
			<-start
			for seq := range each {
				began := time.Now()
				if err := r.Append(b.Context(), remark(uint64(seq+1), "what an entry is as long as, about so")); err != nil {
					b.Error(err)
					return
				}
				mu.Lock()
				_ = took.RecordValue(int64(time.Since(began))) // a minute would have been an error
				mu.Unlock()
			}
		})
	}
	b.ResetTimer()
	began := time.Now()
	close(start)
	all.Wait()
	b.ReportMetric(float64(each*sittings)/time.Since(began).Seconds(), "appends/s")
	b.ReportMetric(float64(took.ValueAtQuantile(50))/1e6, "p50-ms")
	b.ReportMetric(float64(took.ValueAtQuantile(99))/1e6, "p99-ms")
	b.ReportMetric(0, "ns/op")
}

// What the engine holds for every sitting that it keeps and nobody works, all its nodes together: 20 of them, or as many
// as TAILLAMP_FLEET says. It decides how many finished evenings may stay in it.
func TestFleetKeepsIdleSittings(t *testing.T) {
	sittings := 20
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_FLEET")); err == nil {
		sittings = n
	}
	for _, nodes := range []int{1, 3} {
		k := fleet.NewKeeper(nodesOf(t, nodes))
		before, threads := holds()
		for n := range sittings {
			r, err := k.Begin(t.Context(), name(n), header())
			require.NoError(t, err)
			require.NoError(t, r.Append(t.Context(), remark(1, "x"), remark(2, "y")))
			require.NoError(t, r.Close())
		}
		after, more := holds()
		names, err := k.Names(t.Context())
		require.NoError(t, err)
		require.Len(t, names, sittings)
		t.Logf("%d idle sittings at %d nodes: %.0f kB and %.1f goroutines for each, all nodes together", sittings, nodes,
			(after-before)/1e3/float64(sittings), float64(more-threads)/float64(sittings))
	}
}

// holds is how many bytes of heap and stacks are in use after a collection, and how many goroutines.
func holds() (float64, int) {
	runtime.GC()
	runtime.GC() // what the first one's finalizers let go
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc + m.StackInuse), runtime.NumGoroutine()
}
