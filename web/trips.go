package web

import (
	"fmt"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"taillamp/block"
)

// trips are the last round trips of the tablets at work, by box, for the owner (A11). Each is measured by a ping of the
// wire's own (RFC 6455, 5.5.2), which a browser answers by itself. The zero value is ready.
type trips struct {
	mu sync.Mutex
	by map[block.BoxID][]time.Duration
}

const (
	tripsKept = 20
	tripsFew  = 3 // with fewer nothing is said
	tripGood  = 60 * time.Millisecond
	tripSlow  = 150 * time.Millisecond // a bell is played so long after its press, and later it comes late
)

func (t *trips) took(box block.BoxID, d time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.by == nil {
		t.by = make(map[block.BoxID][]time.Duration)
	}
	all := append(t.by[box], d)
	t.by[box] = all[max(0, len(all)-tripsKept):]
}

// forget drops those of a tablet that has gone.
func (t *trips) forget(box block.BoxID) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.by, box)
}

// words tell how the network to the tablet of a box is: good, slow or bad, by the slowest but one of its last twenty round
// trips (their 95th percentile), what to do about it, and whether that is bad. Empty: too few yet.
func (t *trips) words(box block.BoxID) (words string, bad bool) {
	t.mu.Lock()
	all := slices.Clone(t.by[box])
	t.mu.Unlock()
	if len(all) < tripsFew {
		return "", false
	}
	slices.Sort(all)
	p95 := all[(len(all)*95+99)/100-1]
	ms := fmt.Sprintf(" (%d ms there and back)", p95.Milliseconds())
	switch {
	case p95 <= tripGood:
		return "network good" + ms, false
	case p95 <= tripSlow:
		return "network slow" + ms + ": bells keep their rhythm; bring the tablet nearer to the access point if you can", false
	}
	return "network bad" + ms + ": bells come late. Bring the tablet nearer, or give it another network", true
}

// times has the round trips of a tablet's wire measured for as long as it lasts.
func (t *tablet) times() {
	t.conn.SetPongHandler(func(sent string) error {
		if n, err := strconv.ParseInt(sent, 10, 64); err == nil {
			t.s.trips.took(t.seat.Box, time.Since(t.began)-time.Duration(n))
		}
		return nil
	})
}

// ping asks for one.
func (t *tablet) ping() bool {
	sent := strconv.FormatInt(int64(time.Since(t.began)), 10)
	return t.conn.WriteControl(websocket.PingMessage, []byte(sent), time.Now().Add(deadAfter)) == nil
}
