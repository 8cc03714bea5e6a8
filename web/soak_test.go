package web_test

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim"
	"taillamp/web"
	"taillamp/web/sitting"
)

// Days of the demo one after another in one process, each a sitting kept in a file, worked act by act as its simulated
// signallers work it and looked at by two real sockets in every box, which come and go with the day. What the process
// holds, its goroutines and its open files stay as they are from day to day. Two days, or as TAILLAMP_SOAK says: so many
// days (7), or days until so much railway time has passed (168h, every hour of a week: a day of the demo is an evening).
func TestDaysLeaveNothingBehind(t *testing.T) {
	days, hours := 2, time.Duration(0)
	if text := os.Getenv("TAILLAMP_SOAK"); text != "" {
		var err error
		if hours, err = time.ParseDuration(text); err != nil {
			days, err = strconv.Atoi(text)
			require.NoError(t, err, "TAILLAMP_SOAK is a number of days or a time such as 168h")
		}
	}
	keeper, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	rules, err := h.Rules()
	require.NoError(t, err)
	begins := time.Date(1961, 10, 16, 15, 30, 0, 0, time.UTC)
	clock := sitting.NewHandClock(begins)
	var door atomic.Value
	door.Store(&inHand{http.NotFoundHandler()})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { door.Load().(*inHand).ServeHTTP(w, r) }))
	t.Cleanup(server.Close)
	var first standing
	passed := time.Duration(0)
	for day := 0; hours > 0 && passed < hours || hours == 0 && day < days; day++ {
		clock.Move(begins.AddDate(0, 0, day).Sub(clock.Now()))
		name := "day" + strconv.Itoa(day+1)
		host := sitting.NewHost(keeper, clock, "taillamp test")
		live, err := host.Open(t.Context(), name, h)
		require.NoError(t, err)
		door.Store(&inHand{web.New(web.Config{Live: live})})
		acts, frames, took := soakDay(t, live, rules, clock, strings.Replace(server.URL, "http", "ws", 1)+"/s/"+name+"/wire", uint64(day))
		passed += took
		require.NoError(t, live.End(t.Context()))
		require.NoError(t, host.Close(context.Background()))
		door.Store(&inHand{http.NotFoundHandler()})
		http.DefaultClient.CloseIdleConnections()
		now := standsAt(t, first)
		t.Logf("day %d: %.1f hours of the railway (%.1f since the first), %d acts, %d frames to the tablets; then %.0f kB held, %d goroutines, %d open files", day+1, took.Hours(), passed.Hours(), acts, frames, now.held/1e3, now.goroutines, now.files)
		require.Greater(t, frames, acts)
		if day == 0 {
			first = now
			continue
		}
		require.LessOrEqual(t, now.goroutines, first.goroutines, "goroutines")
		require.LessOrEqual(t, now.files, first.files, "open files")
		require.Less(t, now.held, first.held+384e3, "bytes held: a day that is over takes 500 kB if anything keeps it")
	}
}

// inHand is what serves the pages just now.
type inHand struct{ http.Handler }

// soakDay works a day, and tells how many acts it took, how many frames the tablets were sent and how long it was by the
// railway's clock.
func soakDay(t *testing.T, live *sitting.Live, rules *block.Rules, clock *sitting.HandClock, wire string, seed uint64) (acts, frames int, took time.Duration) {
	t.Helper()
	seats := make(map[block.BoxID]sitting.Seat)
	var tablets []*client
	var reading sync.WaitGroup
	var got atomic.Int64
	for _, b := range rules.Layout().Boxes {
		seat, err := live.TakeDuty(t.Context(), b.ID, "")
		require.NoError(t, err)
		seats[b.ID] = seat
		for range 2 {
			conn, answer, err := websocket.DefaultDialer.Dial(wire, nil)
			require.NoError(t, err)
			require.NoError(t, answer.Body.Close())
			c := &client{t: t, conn: conn} // nothing of it is kept till the end of the test
			c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": live.Name(), "box": b.ID, "as": "watch"})
			c.until("welcome")
			tablets = append(tablets, c)
			reading.Go(func() {
				for {
					if _, _, err := c.conn.ReadMessage(); err != nil {
						return
					}
					got.Add(1)
				}
			})
		}
	}
	began := clock.Now()
	said := time.Now()
	for e, err := range sim.Day(rules, sim.Options{Seed: seed, Begins: began}) {
		require.NoError(t, err)
		if by := e.Event.At.Sub(clock.Now()); by > 0 {
			clock.Move(by)
		}
		if time.Since(said) > time.Second {
			alive(tablets)
			said = time.Now()
		}
		if e.Event.Do == block.Duty || e.Event.By == "" {
			continue // they took duty when they came
		}
		e.Event.Pressed = time.Time{}
		if _, err := live.Act(t.Context(), seats[e.Event.By], 0, e.Event); err != nil {
			require.True(t, errors.Is(err, block.ErrNoTrain), "%s %s at %s: %v", e.Event.Do, e.Event.By, e.Event.At, err)
		}
		acts++
	}
	p, err := live.Present(t.Context(), sitting.Seat{As: sitting.Visiting})
	require.NoError(t, err)
	require.NotNil(t, p)
	alive(tablets)
	for _, c := range tablets {
		_ = c.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseNormalClosure, ""), time.Now().Add(frameWait))
		_ = c.conn.Close()
	}
	reading.Wait()
	return acts, int(got.Load()), clock.Now().Sub(began)
}

// standing is what a process holds.
type standing struct {
	held              float64
	goroutines, files int
}

// standsAt measures it, when what is on its way out has gone: it waits until no more is held than before, but not for
// ever.
func standsAt(t *testing.T, before standing) standing {
	t.Helper()
	var now standing
	for end := time.Now().Add(10 * time.Second); ; pause(50 * time.Millisecond) {
		now = standing{held(), runtime.NumGoroutine(), openFiles()}
		calm := before.goroutines == 0 && time.Until(end) < 8*time.Second || before.goroutines > 0 && now.goroutines <= before.goroutines && now.files <= before.files
		if calm || time.Now().After(end) {
			return now
		}
	}
}

// openFiles counts the files and sockets that the process has open, where the system tells.
func openFiles() int {
	list, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return 0
	}
	return len(list)
}
