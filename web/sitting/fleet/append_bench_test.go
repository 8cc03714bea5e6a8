//go:build fleet

package fleet_test

import (
	"fmt"
	"net"
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

func appends(b *testing.B, nodes, sittings int) {
	var peers []string
	for range nodes {
		free, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(b, err)
		peers = append(peers, free.Addr().String())
		require.NoError(b, free.Close())
	}
	var first *fleet.Engine
	for n := range nodes {
		node := fleet.Node{Dir: b.TempDir()}
		if nodes > 1 {
			node.Peers = append([]string{peers[n]}, append(append([]string{}, peers[:n]...), peers[n+1:]...)...)
		}
		e, err := node.Connect()
		require.NoError(b, err)
		b.Cleanup(e.Close)
		if first == nil {
			first = e
		}
	}
	require.NoError(b, first.Ready(b.Context()))
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
