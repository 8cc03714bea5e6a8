//go:build fleet

package fleet_test

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// failing keeps nothing once it is told to fail.
type failing struct {
	sitting.Keeper
	now bool
}

func (f *failing) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := f.Keeper.Begin(ctx, name, h)
	return failingRecord{r, f}, err
}

type failingRecord struct {
	sitting.Record
	of *failing
}

var errNoDisk = errors.New("no disk")

func (r failingRecord) Append(ctx context.Context, entries ...block.Entry) error {
	if r.of.now {
		return errNoDisk
	}
	return r.Record.Append(ctx, entries...)
}

// The figures are those of what happened: two batches of three entries kept and one lost, a ring of 3 milliseconds and news of
// half a second, two wires open and a page that is none. Their form is that of OpenMetrics 1.0 (https://openmetrics.io).
func TestMetricsCountWhatHappened(t *testing.T) {
	m := fleet.NewMetrics()
	disk := &failing{Keeper: sitting.NewMemory()}
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	h.Began = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
	r, err := m.Keeper(disk).Begin(t.Context(), "evening", h)
	require.NoError(t, err)
	entry := func(seq uint64) block.Entry {
		return block.Entry{Seq: seq, Event: block.Event{Do: block.Tick, At: h.Began}, Outcome: block.Outcome{Ending: block.Done}}
	}
	require.NoError(t, r.Append(t.Context(), entry(1), entry(2)))
	require.NoError(t, r.Append(t.Context(), entry(3)))
	disk.now = true
	require.ErrorIs(t, r.Append(t.Context(), entry(4)), errNoDisk)
	m.Carried(true, 3*time.Millisecond)
	m.Carried(false, 500*time.Millisecond)

	open, shut := make(chan struct{}), make(chan struct{})
	pages := m.Pages(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { open <- struct{}{}; <-shut }))
	for _, path := range []string{"/s/evening/wire", "/s/evening/wire", "/s/evening/book/UL"} {
		go pages.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, path, nil))
		<-open
	}
	text := func() string {
		w := httptest.NewRecorder()
		q := httptest.NewRequest(http.MethodGet, "/metrics", nil)
		q.Header.Set("Accept", "application/openmetrics-text; version=1.0.0")
		m.ServeHTTP(w, q)
		return w.Body.String()
	}
	for _, line := range []string{
		"taillamp_wires 2.0",
		"taillamp_entries_total 3.0", "taillamp_appends_failed_total 1.0", "taillamp_append_seconds_count 3",
		`taillamp_ring_seconds_bucket{le="0.002"} 0`, `taillamp_ring_seconds_bucket{le="0.004"} 1`, "taillamp_ring_seconds_sum 0.003",
		`taillamp_news_seconds_bucket{le="0.25"} 0`, `taillamp_news_seconds_bucket{le="1.0"} 1`, "taillamp_news_seconds_sum 0.5",
	} {
		require.Contains(t, text(), "\n"+line+"\n")
	}
	close(shut)
	require.Eventually(t, func() bool { return strings.Contains(text(), "\ntaillamp_wires 0.0\n") }, 5*time.Second, time.Millisecond)
}
