package web_test

import (
	"fmt"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// rough is a bad network: it passes bytes on to an address, each piece late by some of 10 ms and none overtaking
// another; now and then a socket stalls for good in one direction and stays open, or is cut.
type rough struct {
	to   string
	door net.Listener

	mu     sync.Mutex
	chance *rand.Rand
	both   []net.Conn
}

func roughTo(t *testing.T, to string, seed uint64) *rough {
	t.Helper()
	door, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	r := &rough{to: to, door: door, chance: rand.New(rand.NewPCG(seed, 3))}
	go func() {
		for {
			in, err := door.Accept()
			if err != nil {
				return
			}
			out, err := net.Dial("tcp", to)
			if err != nil {
				_ = in.Close() // nobody is there
				continue
			}
			r.mu.Lock()
			r.both = append(r.both, in, out)
			r.mu.Unlock()
			go r.pass(in, out)
			go r.pass(out, in)
		}
	}()
	t.Cleanup(func() {
		_ = door.Close()
		r.cut()
	})
	return r
}

func (r *rough) roll(n int) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.chance.IntN(n)
}

// pass carries one direction. Of every sixty pieces one is the last that it carries, though nobody is told.
func (r *rough) pass(from, to net.Conn) {
	piece := make([]byte, 4096)
	for {
		n, err := from.Read(piece)
		if err != nil {
			_ = to.Close() // the other end is told
			return
		}
		if r.roll(60) == 0 {
			return // half-open from here on
		}
		pause(time.Duration(r.roll(10_000)) * time.Microsecond)
		if _, err := to.Write(piece[:n]); err != nil {
			_ = from.Close()
			return
		}
	}
}

// cut ends every socket at once.
func (r *rough) cut() {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, c := range r.both {
		_ = c.Close() // it may be closed already
	}
	r.both = nil
}

// C9, Q13: two signallers work over a network that delays, goes silent in one direction and is cut; each tablet comes
// back by another socket while the old one still hangs, and sends again what had no answer. Nothing that they were told
// is lost, doubled or in another order, and every act of theirs is in the record or was answered that it is not.
func TestNothingIsLostOnARoughNetwork(t *testing.T) {
	files, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	s := serve(t, files)
	network := roughTo(t, s.http.Listener.Addr().String(), 1960)
	at := fmt.Sprintf("ws://%s/s/evening/wire", network.door.Addr())
	var hands []*hand
	for _, box := range []block.BoxID{ullathwick, ossenwaite} {
		hands = append(hands, &hand{box: box, ticket: s.duty(box), waiting: make(map[uint64]map[string]any),
			patient: 300 * time.Millisecond}) // of a tablet's 4.5 s, so that the test is short
	}
	const sockets = 6
	var all sync.WaitGroup
	for i, h := range hands {
		all.Go(func() {
			chance := rand.New(rand.NewPCG(1960, uint64(i)))
			for h.socket < sockets {
				if conn, err := h.connect("evening", at); err == nil {
					h.work(conn, chance)
				}
			}
		})
	}
	all.Wait()
	network.cut()
	for _, h := range hands { // a quiet network again: what had no answer gets one
		h.patient = 0
		conn, err := h.connect("evening", s.wire())
		require.NoError(t, err)
		for len(h.waiting) > 0 {
			_, err := h.hear(conn)
			require.NoError(t, err)
		}
		require.NoError(t, conn.Close())
	}
	require.NoError(t, s.live.Close(t.Context()))
	var kept []block.Entry
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		kept = append(kept, e)
	}
	require.Empty(t, disagreements(kept, map[block.BoxID][]told{ullathwick: hands[0].heard, ossenwaite: hands[1].heard}))
	t.Logf("%d acts over %d sockets, %d facts kept", hands[0].next+hands[1].next, hands[0].socket+hands[1].socket, len(kept))
}

// foundWithin is how long a socket may be silent and open before both ends know of it.
const foundWithin = 5 * time.Second

// C9, Q13: a tablet at work falls silent, its socket open: nobody closes anything, and the program finds out by itself and
// tells the neighbour, within 5 s of the last sign of life. Six tablets, each silent at another moment between two signs
// of life of the program's own.
func TestSilentSocketIsFound(t *testing.T) {
	t.Parallel()
	const tablets = 6
	found := make(chan time.Duration, tablets)
	for i := range tablets {
		s := serve(t, sitting.NewMemory())
		network, door := badNetwork(t, s.http.URL, 0)
		_, port, err := net.SplitHostPort(strings.TrimPrefix(door, "http://"))
		require.NoError(t, err)
		near, _ := s.join(ullathwick, s.duty(ullathwick))
		far := dial(t, "ws://127.0.0.1:"+port+"/s/evening/wire")
		far.hello(ossenwaite, s.duty(ossenwaite), sitting.Position{})
		far.until("welcome")
		fell := make(chan time.Time, 1)
		stop := make(chan struct{})
		t.Cleanup(func() { close(stop) })
		go func() {
			pause(time.Duration(i) * aliveEvery / tablets)
			alive([]*client{far})
			pause(50 * time.Millisecond) // it is through
			network.die()
			fell <- time.Now()
			for {
				alive([]*client{near})
				select {
				case <-stop:
					return
				case <-time.After(time.Second):
				}
			}
		}()
		go func() {
			for {
				f, err := near.read()
				if err != nil {
					found <- frameWait // never
					return
				}
				if f.Away != nil && strings.Contains(string(f.Away), `"off":true`) {
					found <- time.Since(<-fell)
					return
				}
			}
		}()
	}
	least, most := frameWait, time.Duration(0)
	for range tablets {
		took := <-found
		least, most = min(least, took), max(most, took)
	}
	t.Logf("%d silent sockets found after %v to %v", tablets, least.Round(time.Millisecond), most.Round(time.Millisecond))
	require.LessOrEqual(t, most, foundWithin)
	require.Greater(t, least, 2*aliveEvery, "none was given up while a sign of life could still come")
}

// aliveEvery is how often either end gives a sign of life.
const aliveEvery = 2 * time.Second
