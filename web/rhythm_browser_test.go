package web_test

import (
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// lag is a stretch of bad network: what comes in at its address goes on to a server after a random delay, in order.
type lag struct {
	to     string
	most   time.Duration
	always time.Duration // every delay is so long at least
	mu     sync.Mutex
	random *rand.Rand
	dead   bool // nothing goes through any more
	off    bool // nor is anybody let in
	conns  []net.Conn
	wait   sync.WaitGroup
}

// badNetwork puts a lag before the server at an address and gives the address to use instead.
func badNetwork(t *testing.T, to string, most time.Duration) (*lag, string) {
	t.Helper()
	u, err := url.Parse(to)
	require.NoError(t, err)
	door, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	seed := uint64(time.Now().UnixNano())
	t.Logf("the delays come from seed %d", seed)
	l := &lag{to: "127.0.0.1:" + u.Port(), most: most, random: rand.New(rand.NewPCG(seed, seed))}
	l.wait.Add(1)
	go func() {
		defer l.wait.Done()
		for {
			near, err := door.Accept()
			if err != nil {
				return
			}
			l.join(near)
		}
	}()
	t.Cleanup(func() {
		door.Close()
		l.cut()
		l.wait.Wait()
	})
	return l, fmt.Sprintf("http://%s:%d", shed, door.Addr().(*net.TCPAddr).Port)
}

func (l *lag) join(near net.Conn) {
	if l.refuses(near) {
		return
	}
	far, err := net.Dial("tcp", l.to)
	if err != nil {
		near.Close()
		return
	}
	l.mu.Lock()
	l.conns = append(l.conns, near, far)
	l.mu.Unlock()
	l.wait.Add(2)
	go l.carry(near, far)
	go l.carry(far, near)
}

func (l *lag) carry(from, to net.Conn) {
	defer l.wait.Done()
	defer to.Close()
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		if err != nil {
			return
		}
		late, dead := l.delay()
		if dead {
			continue
		}
		pause(late)
		if _, err := to.Write(buffer[:n]); err != nil {
			return
		}
	}
}

func (l *lag) delay() (time.Duration, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.most <= 0 {
		return l.always, l.dead
	}
	return l.always + time.Duration(l.random.Int64N(int64(l.most))), l.dead
}

// die lets nothing more through, without closing anything.
func (l *lag) die() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.dead = true
}

// cut closes every connection.
func (l *lag) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, c := range l.conns {
		c.Close()
	}
	l.conns = nil
}

// stroke is one beat as the far tablet has scheduled it: seconds of its sound card, milliseconds of the sitting.
type stroke struct {
	When float64 `json:"when"`
	Play float64 `json:"play"`
	Late bool    `json:"late"`
}

// B1: with up to 40 ms of random delay between the finger and the server, every gap at the far tablet's sound card is
// as long as under the finger, never shorter, and longer by 30 ms at most. A beat that this machine itself held up for
// longer than the play-out delay says so (late) and is not measured for stretching; two in three must be.
func TestRhythmIsKept(t *testing.T) {
	e := open(t, "lathermoor", nil)
	_, slow := badNetwork(t, e.at, 40*time.Millisecond)
	b := browser(t)
	ul := tablet(t, b, "Ullathwick", slow, 1024, 768)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	require.True(t, eval[bool](os, "taillampShelf.bells.awake()"), "the press that took duty lets the bells be heard")
	eval[int](ul, `(() => { window.fingers = []; addEventListener("pointerdown", (e) => window.fingers.push(e.timeStamp), true); return 0; })()`)
	pause(time.Second) // eight clock exchanges, 100 ms apart

	measured, all := 0, 0
	for _, beat := range []time.Duration{180 * time.Millisecond, 500 * time.Millisecond} {
		for _, code := range []string{"3-1", "1-3-1", "16"} {
			beats, err := block.ParseBeats(code)
			require.NoError(t, err)
			total := 0
			for _, group := range beats {
				total += int(group)
			}
			eval[int](ul, "window.fingers.length = 0")
			eval[int](os, "window.taillampPlayed.length = 0")
			ul.hand(pair, code, beat)
			os.until(fmt.Sprintf("window.taillampPlayed.length >= %d", total))
			pressed := eval[[]float64](ul, "window.fingers")
			played := eval[[]stroke](os, "window.taillampPlayed")
			require.Len(t, pressed, total)
			require.Len(t, played, total, "no beat is lost or doubled")
			for i := 1; i < total; i++ {
				finger := pressed[i] - pressed[i-1]
				ear := 1000 * (played[i].When - played[i-1].When)
				all++
				require.GreaterOrEqual(t, ear, finger-2, "%s at %v: gap %d was squeezed", code, beat, i)
				if played[i].Late {
					continue
				}
				measured++
				require.LessOrEqual(t, ear, finger+30, "%s at %v: gap %d was stretched", code, beat, i)
			}
			pause(1600 * time.Millisecond) // the chain of strokes ends
		}
	}
	require.GreaterOrEqual(t, 3*measured, 2*all, "%d of %d gaps could be measured", measured, all)
	require.Len(t, acts(t, e, block.Beat), 2*(4+5+16))
}
