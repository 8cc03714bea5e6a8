//go:build fleet && linux

package web_test

import (
	"fmt"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/HdrHistogram/hdrhistogram-go"
	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// couple is two tablets at work at one sitting, each at a process.
type couple struct{ near, far *client }

func (c *cluster) pairAt(name string, near, far *process) couple {
	c.t.Helper()
	at := func(p *process, box block.BoxID) *client {
		tablet := dial(c.t, "ws://"+p.at+"/s/"+name+"/wire")
		tablet.say(map[string]any{"kind": "hello", "proto": 1, "sitting": name, "box": box, "as": "work",
			"ticket": takeDuty(c.t, "http://"+p.at+"/s/"+name+"/duty/"+string(box))})
		tablet.until("welcome")
		return tablet
	}
	return couple{at(near, ullathwick), at(far, ossenwaite)}
}

// A beat from one tablet to the next, all in one run and one after another: both at the process that has their sitting;
// the one that rings at another process; both at another. The figures are printed; what is asked for is that every beat
// is heard. 100 beats of each, or as many as TAILLAMP_BEATS says.
func TestFleetRelay(t *testing.T) {
	beats := 100
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_BEATS")); err == nil {
		beats = n
	}
	c := newCluster(t, 1)
	c.launch()
	c.launch()
	var own []string
	for _, name := range c.begin(10) {
		if c.directory.Owner(name) == c.procs[0].name {
			own = append(own, name)
		}
	}
	require.GreaterOrEqual(t, len(own), 3, "sittings fall to both")
	owner, other := c.procs[0], c.procs[1]
	ways := []struct {
		name string
		couple
		took *hdrhistogram.Histogram
	}{
		{"both at the owner", c.pairAt(own[0], owner, owner), hdrhistogram.New(1, int64(time.Minute), 3)},
		{"the ringing one elsewhere", c.pairAt(own[1], other, owner), hdrhistogram.New(1, int64(time.Minute), 3)},
		{"both elsewhere", c.pairAt(own[2], other, other), hdrhistogram.New(1, int64(time.Minute), 3)},
	}
	for range beats {
		for _, w := range ways {
			frame := w.near.beatFrame(t)
			require.NoError(t, w.took.RecordValue(int64(timed(func() {
				require.NoError(t, w.near.conn.WriteMessage(websocket.TextMessage, frame))
				_, err := w.far.hearsBeat()
				require.NoError(t, err)
			}))))
			w.near.until("answer")
			w.far.say(map[string]any{"kind": "alive"})
		}
		pause(15 * time.Millisecond) // a tablet may say so much in a second and no more
	}
	local := ways[0].took
	for _, w := range ways {
		p := func(h *hdrhistogram.Histogram, q float64) float64 { return float64(h.ValueAtQuantile(q)) / 1e6 }
		t.Logf("%d beats, %s: p50 %.2f ms, p99 %.2f ms; against both at the owner %.2f and %.2f times", beats, w.name, p(w.took, 50), p(w.took, 99),
			p(w.took, 50)/p(local, 50), p(w.took, 99)/p(local, 99))
	}
}

// How many facts one process keeps in a second and how many two do, over the same engine and by turns in one run, with
// tablets pressing as hard as they may. The figures are printed; what is asked for is that both keep what they are given.
// The engine has one node and syncs every write; tablets, processes and engine share this machine, so this says what
// sharing costs and not what machines of their own would carry. 20 sittings each, or as many as TAILLAMP_FLEET says.
func TestFleetThroughput(t *testing.T) {
	const rounds, span = 3, 1500 * time.Millisecond
	sittings := inFleet(20)
	c := newCluster(t, 1)
	c.launch()
	atOne := c.pressers(c.beginFrom(0, sittings))
	rest := keptAlive(atOne)
	c.launch()
	atTwo := c.pressers(c.beginFrom(sittings, sittings))
	rest()
	var one, two float64
	for range rounds {
		one += press(t, atOne, atTwo, span) / rounds
		two += press(t, atTwo, atOne, span) / rounds
	}
	t.Logf("%d sittings each, 2 tablets at a sitting: one process keeps %.0f facts a second, two %.0f (%.2f times)", sittings, one, two, two/one)
}

// pressers are tablets at work at sittings, each at the process that has its own.
func (c *cluster) pressers(sittings []string) []*client {
	c.t.Helper()
	var all []*client
	for _, name := range sittings {
		owner := c.procs[0]
		for _, p := range c.procs {
			if p.name == c.directory.Owner(name) {
				owner = p
			}
		}
		two := c.pairAt(name, owner, owner)
		all = append(all, two.near, two.far)
		alive(all)
	}
	return all
}

// keptAlive has tablets that do nothing else show every second that they live, until what it gives is called.
func keptAlive(tablets []*client) (rest func()) {
	var showing sync.WaitGroup
	stop := make(chan struct{})
	showing.Go(func() {
		for {
			alive(tablets)
			select {
			case <-stop:
				return
			case <-time.After(time.Second):
			}
		}
	})
	return func() {
		close(stop)
		showing.Wait()
	}
}

// pressMost is how much a tablet presses at once at most: more than forty frames a second for four seconds is more than a
// tablet may (guard.go), and closes it.
const pressMost = 110

// press has tablets press hard for a while, and tells how many facts were done in a second. The others only show that
// they live.
func press(t *testing.T, tablets, others []*client, span time.Duration) float64 {
	t.Helper()
	rest := keptAlive(tablets)
	resting := keptAlive(others)
	pause(3 * time.Second) // until each may say so much again
	rest()
	defer resting()
	var done atomic.Int64
	var all sync.WaitGroup
	began := time.Now()
	end := began.Add(span)
	for _, tablet := range tablets {
		all.Go(func() {
			for waiting, said := 0, 0; ; {
				for ; waiting < 4 && said < pressMost && time.Now().Before(end); waiting++ {
					said++
					tablet.act++
					if tablet.conn.WriteJSON(map[string]any{"kind": "act", "act": tablet.act, "do": "remark", "words": fmt.Sprint(tablet.act)}) != nil {
						return
					}
				}
				if waiting == 0 {
					return
				}
				f, err := tablet.read()
				if err != nil {
					t.Logf("a tablet is closed: %v", err)
					return
				}
				if f.Kind != "answer" {
					if f.Kind == "alive" {
						alive([]*client{tablet}) // however long its answers take, it is not silent
					}
					continue
				}
				waiting--
				if f.Ending == block.Done {
					done.Add(1)
				}
			}
		})
	}
	all.Wait()
	require.Positive(t, done.Load())
	return float64(done.Load()) / time.Since(began).Seconds()
}
