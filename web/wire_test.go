package web_test

import (
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// B1: a beat at one tablet rings at the other's, in that bell's voice, with the finger's own time.
func TestBeatCrossesTheWire(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, welcome := s.join(ossenwaite, s.duty(ossenwaite))
	pressed := near.beat()
	ring := far.until("ring")
	require.Equal(t, bells, ring.Circuit)
	require.NotEmpty(t, ring.Voice)
	require.Equal(t, pressed, ring.Pressed)
	require.Equal(t, welcome.Epoch, ring.Epoch)
	own := near.until("ring")
	require.Equal(t, ring.Seq, own.Seq)
	require.Empty(t, own.Circuit, "who pressed hears no bell")
	answer := near.until("answer")
	require.Equal(t, block.Done, answer.Ending)
	require.Equal(t, ring.Seq, answer.Seq)
}

// B1: no beat of ten thousand is lost or doubled, though every tenth act is sent twice.
func TestTenThousandTaps(t *testing.T) {
	files, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	s := serve(t, files)
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	const taps = 10_000
	ears := make(chan error, 1)
	tenMore := make(chan struct{})
	go func() { ears <- countRings(far, taps, tenMore) }()
	for n := 1; n <= taps; n++ {
		act := map[string]any{"kind": "act", "act": n, "do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now())}
		near.say(act)
		if n%10 == 0 {
			near.say(act)
			require.NoError(t, countAnswers(near, 11))
			<-tenMore // so that on a busy machine no press grows stale and no ear falls behind
		}
	}
	require.NoError(t, <-ears)
	beats := 0
	require.NoError(t, s.live.Close(t.Context()))
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Event.Do == block.Beat {
			beats++
			require.Equal(t, uint64(beats), e.Act)
		}
	}
	require.Equal(t, taps, beats)
}

// countRings hears so many beats, keeping itself alive, and looks that their numbers rise without a gap. It says so
// whenever it has been told the numbers of ten more: early beats ring before that.
func countRings(c *client, want int, tenMore chan<- struct{}) error {
	defer close(tenMore)
	last, heard := uint64(0), 0
	for numbered := 0; numbered < want; {
		f, err := c.read()
		switch {
		case err != nil:
			return fmt.Errorf("after %d beats: %w", numbered, err)
		case f.Kind != "ring" && f.Kind != "news":
			continue
		case !f.Early && last != 0 && f.Seq != last+1 && (f.Seq != last || f.Kind != "news"):
			return fmt.Errorf("number %d after %d", f.Seq, last)
		}
		if f.Circuit != "" {
			heard++
		}
		if f.Early {
			continue
		}
		if last = f.Seq; f.Kind != "ring" {
			continue
		}
		if numbered++; numbered%10 == 0 {
			tenMore <- struct{}{}
			if err := c.conn.WriteJSON(map[string]any{"kind": "alive", "seq": last}); err != nil {
				return err
			}
		}
	}
	if heard != want {
		return fmt.Errorf("%d beats were pressed and %d rang", want, heard)
	}
	return nil
}

// countAnswers takes so many answers, all done.
func countAnswers(c *client, want int) error {
	for got := 0; got < want; {
		f, err := c.read()
		if err != nil {
			return fmt.Errorf("after %d answers: %w", got, err)
		}
		if f.Kind != "answer" {
			continue
		}
		got++
		if f.Ending != block.Done {
			return fmt.Errorf("act %d: %s %s", f.Act, f.Ending, f.Why)
		}
	}
	return nil
}

// A press that is too old when it comes is not rung, and the tablet is told so in words.
func TestStaleBeatIsNotRung(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	near.do(map[string]any{"do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now().Add(-4 * time.Second))})
	answer := near.until("answer")
	require.Equal(t, sitting.Impossible, answer.Ending)
	require.Equal(t, "stale", answer.Why)
	require.NotEmpty(t, answer.Words)
	require.Zero(t, answer.Seq)
}

// A tablet has no whole codes, no faults and no time to give, and takes no duty by the wire.
func TestTabletHasNoOwnersActs(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	for _, do := range []block.Do{block.Rung, block.Fault, block.Pace, block.Trains, block.Happens, block.Befalls, block.Plans, block.Tick, block.Duty, "nonsense"} {
		near.do(map[string]any{"do": do, "circuit": bells})
		require.Equal(t, "no-act", near.until("answer").Why, do)
	}
}

// A tablet that saw a gap is given the present and goes on from there.
func TestSyncGivesThePresent(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, welcome := s.join(ossenwaite, s.duty(ossenwaite))
	near.do(map[string]any{"do": "remark", "words": "fog"})
	near.until("answer")
	far.say(map[string]any{"kind": "sync", "have": sitting.Position{Epoch: welcome.Epoch, Seq: welcome.Seq}})
	present := far.until("present")
	require.Equal(t, welcome.Seq+1, present.Seq)
	require.NotNil(t, present.View)
	near.beat()
	require.Equal(t, present.Seq+1, far.until("ring").Seq)
}

// A returning tablet learns in words what rang meanwhile; from another epoch it learns that nobody knows.
func TestWelcomeTellsWhatWasMissed(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	ticket := s.duty(ossenwaite)
	far, welcome := s.join(ossenwaite, ticket)
	require.Empty(t, welcome.Missed)
	require.NoError(t, far.conn.Close())
	near.beat()
	for f := near.until("news"); len(f.Changes) == 0; { // the quiet after it ends the code
		near.say(map[string]any{"kind": "alive", "seq": f.Seq})
		f = near.until("news")
	}
	back := dial(t, s.wire())
	back.hello(ossenwaite, ticket, sitting.Position{Epoch: welcome.Epoch, Seq: welcome.Seq})
	require.Contains(t, back.until("welcome").Missed, "Ullathwick rang 1 at ")
	other := dial(t, s.wire())
	other.hello(ossenwaite, ticket, sitting.Position{Epoch: "0", Seq: welcome.Seq})
	require.Equal(t, "unknown", other.until("welcome").Missed)
}

func TestSocketsAreClosedWithTheirReason(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	ticket := s.duty(ullathwick)
	hello := func(change func(map[string]any)) (frame, int) {
		c := dial(t, s.wire())
		h := map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": "UL", "as": "work", "ticket": ticket}
		change(h)
		c.say(h)
		return c.end()
	}
	for name, c := range map[string]struct {
		change func(map[string]any)
		code   int
	}{
		"no hello":        {func(h map[string]any) { h["kind"] = "act" }, 4001},
		"another program": {func(h map[string]any) { h["proto"] = 2 }, 4001},
		"no such work":    {func(h map[string]any) { h["as"] = "general manager" }, 4001},
		"wrong ticket":    {func(h map[string]any) { h["ticket"] = "GUESS" }, 4003},
		"no such box":     {func(h map[string]any) { h["box"] = "XX" }, 4003},
		"another sitting": {func(h map[string]any) { h["sitting"] = "yesterday" }, 4010},
	} {
		last, code := hello(c.change)
		require.Equal(t, c.code, code, name)
		require.Equal(t, "close", last.Kind, name)
		require.NotEmpty(t, last.Why, name)
		require.False(t, last.Again, name)
	}
	first, _ := s.join(ullathwick, ticket)
	second, _ := s.join(ullathwick, ticket)
	last, code := first.end()
	require.Equal(t, 4009, code)
	require.False(t, last.Again)
	second.beat()
	second.until("answer")
	require.NoError(t, s.live.Close(t.Context()))
	last, code = second.end()
	require.Equal(t, 4000, code)
	require.True(t, last.Again, "the program may be started again")
}

// A tablet of no sense is answered twice and then closed; one that sends too much is closed at once.
func TestNonsenseIsClosed(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	c, _ := s.join(ullathwick, s.duty(ullathwick))
	for range 3 {
		require.NoError(t, c.conn.WriteMessage(websocket.TextMessage, []byte(`{"kind":`)))
		require.Equal(t, sitting.Impossible, c.until("answer").Ending)
	}
	_, err := c.read()
	for err == nil {
		_, err = c.read()
	}
	long, _ := s.join("", "")
	require.NoError(t, long.conn.WriteMessage(websocket.TextMessage, []byte(strings.Repeat(" ", sitting.FrameLimit+1))))
	_, code := long.end()
	require.Equal(t, websocket.CloseMessageTooBig, code)
}

// Four times tell a tablet how its clock stands to the server's.
func TestClockFrame(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	c, _ := s.join(ullathwick, s.duty(ullathwick))
	before := sitting.MillisOf(time.Now().Add(-time.Millisecond))
	c.say(map[string]any{"kind": "clock", "t0": 1234.5})
	got := c.until("clock")
	require.Equal(t, 1234.5, got.T0)
	require.GreaterOrEqual(t, got.T1, float64(before))
	require.GreaterOrEqual(t, got.T2, got.T1)
}

// A silent socket is given up; until then each side gives signs of life.
func TestSignsOfLife(t *testing.T) {
	t.Parallel()
	s := serve(t, sitting.NewMemory())
	c, welcome := s.join(ullathwick, s.duty(ullathwick))
	require.Equal(t, 2000, welcome.Alive)
	f, err := c.read()
	require.NoError(t, err)
	require.Equal(t, "alive", f.Kind)
	for err == nil { // from here on nothing is said
		_, err = c.read()
	}
	var late net.Error
	if e, ok := err.(net.Error); ok {
		late = e
	}
	require.False(t, late != nil && late.Timeout(), "the server closed it")
}

// A tablet that reads nothing is cut off; the others hear every beat, and the bell goes on.
func TestSlowTabletHoldsUpNobody(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	narrow := httptest.NewUnstartedServer(web.New(web.Config{Live: s.live, Pace: 1e6}))
	narrow.Config.ConnState = func(c net.Conn, state http.ConnState) {
		if state == http.StateNew {
			_ = c.(*net.TCPConn).SetWriteBuffer(4 << 10) // else the kernel reads for the tablet
		}
	}
	narrow.Start()
	defer narrow.Close()
	slow := dial(t, strings.Replace(narrow.URL, "http", "ws", 1)+"/s/evening/wire")
	require.NoError(t, slow.conn.UnderlyingConn().(*net.TCPConn).SetReadBuffer(4<<10))
	slow.hello(ossenwaite, "", sitting.Position{})
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	const taps = 2000
	ears := make(chan error, 1)
	tenMore := make(chan struct{})
	go func() { ears <- countRings(far, taps, tenMore) }()
	for n := 1; n <= taps; n++ {
		near.beat()
		require.NoError(t, countAnswers(near, 1))
		if n%10 == 0 {
			<-tenMore // so that on a busy machine no ear falls behind but the one that reads nothing
		}
	}
	require.NoError(t, <-ears)
	read := 0
	for {
		if _, err := slow.read(); err != nil {
			break
		}
		read++
	}
	require.Less(t, read, taps, "it was cut off")
}

// B1: the network's delay, up to 40 ms and never the same, changes nothing in the rhythm that the far box is told.
func TestRhythmIsTheFingersOwn(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	p := delayed(t, strings.TrimPrefix(s.http.URL, "http://"), seed)
	near := dial(t, "ws://"+p+"/s/evening/wire")
	near.hello(ullathwick, s.duty(ullathwick), sitting.Position{})
	near.until("welcome")
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	began := time.Now().Add(-1900 * time.Millisecond)
	var pressed []sitting.Millis
	for _, gap := range []int{0, 180, 180, 500, 180, 180, 450} { // 3-1-… in a hand of 180 ms
		began = began.Add(time.Duration(gap) * time.Millisecond)
		pressed = append(pressed, sitting.MillisOf(began))
		near.do(map[string]any{"do": "beat", "circuit": bells, "pressed": sitting.MillisOf(began)})
	}
	for _, want := range pressed {
		require.Equal(t, want, far.until("ring").Pressed)
	}
}

// delayed passes bytes on to an address, each piece late by some of 40 ms and none overtaking another. It gives its own.
func delayed(t *testing.T, to string, seed uint64) string {
	t.Helper()
	door, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = door.Close() })
	random := rand.New(rand.NewPCG(seed, 1))
	go func() {
		in, err := door.Accept()
		if err != nil {
			return
		}
		defer func() { _ = in.Close() }()
		out, err := net.Dial("tcp", to)
		if err != nil {
			return
		}
		defer func() { _ = out.Close() }()
		go func() {
			piece := make([]byte, 4096)
			for n, err := out.Read(piece); err == nil; n, err = out.Read(piece) {
				if _, err := in.Write(piece[:n]); err != nil {
					return
				}
			}
		}()
		piece := make([]byte, 4096)
		for n, err := in.Read(piece); err == nil; n, err = in.Read(piece) {
			late := time.NewTimer(time.Duration(random.IntN(40_000)) * time.Microsecond)
			<-late.C
			if _, err := out.Write(piece[:n]); err != nil {
				return
			}
		}
	}()
	return door.Addr().String()
}
