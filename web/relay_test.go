package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/HdrHistogram/hdrhistogram-go"
	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// BenchmarkRelay measures a beat from one tablet's socket to the other's against a bare gorilla echo of the same frame,
// one after the other in the same run, so that what else the machine does falls on both alike. The tablets are a process
// of their own, as in the shed they are machines of their own: the server's time is not taken up by theirs. The record
// is kept in a folder, with every sync. Goals: p50 within twice the echo's, p99 within one and a half.
func BenchmarkRelay(b *testing.B) {
	files, err := sitting.NewFiles(b.TempDir())
	require.NoError(b, err)
	s := serve(b, files)
	times := relay(b, relayOrder{Echo: serveEcho(b), Wire: s.wire(), Near: s.duty(ullathwick), Far: s.duty(ossenwaite), Beats: b.N})
	b.ReportMetric(0, "ns/op") // the two rows tell; their sum tells nothing
	for i, name := range []string{"p50", "p99"} {
		b.ReportMetric(times.Relay[i], "relay-"+name+"-µs")
		b.ReportMetric(times.Echo[i], "echo-"+name+"-µs")
		b.ReportMetric(times.Relay[i]/times.Echo[i], "ratio-"+name)
	}
}

// BenchmarkBeat counts what the program allocates for a whole beat: from the frame of one tablet to that of the other, with
// its answer, its number and its line in the record. The tablets are a process of their own and are not counted.
func BenchmarkBeat(b *testing.B) {
	files, err := sitting.NewFiles(b.TempDir())
	require.NoError(b, err)
	s := serve(b, files)
	order := relayOrder{Wire: s.wire(), Near: s.duty(ullathwick), Far: s.duty(ossenwaite), Beats: b.N}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	relay(b, order)
	runtime.ReadMemStats(&after)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(after.Mallocs-before.Mallocs)/float64(b.N), "allocs/beat")
	b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(b.N), "B/beat")
}

// relay has the tablets ring.
func relay(b *testing.B, o relayOrder) (times relayTimes) {
	b.Helper()
	order, err := json.Marshal(o)
	require.NoError(b, err)
	tablets := exec.Command(os.Args[0], "-test.run=^TestRelayTablets$", "-test.v")
	tablets.Env = append(os.Environ(), relayTablets+"="+string(order))
	said, err := tablets.CombinedOutput()
	require.NoError(b, err, "%s", said)
	_, found, ok := bytes.Cut(said, []byte(relayTablets))
	require.True(b, ok, "%s", said)
	found, _, _ = bytes.Cut(found, []byte("\n"))
	require.NoError(b, json.Unmarshal(found, &times))
	return times
}

// relayTablets names what BenchmarkRelay tells the process of its tablets, and what that tells it.
const relayTablets = "TAILLAMP_RELAY_TABLETS"

// relayOrder is where the tablets are to go, and how often the bell is tapped. Without an echo none is asked.
type relayOrder struct {
	Echo, Wire, Near, Far string
	Beats                 int
}

// relayTimes are the medians and the 99th percentiles, in microseconds.
type relayTimes struct{ Relay, Echo [2]float64 }

// TestRelayTablets is the other half of BenchmarkRelay.
func TestRelayTablets(t *testing.T) {
	order := relayOrder{}
	if told := os.Getenv(relayTablets); told == "" {
		t.Skip("run by BenchmarkRelay")
	} else {
		require.NoError(t, json.Unmarshal([]byte(told), &order))
	}
	var echo *websocket.Conn
	if order.Echo != "" {
		echo = dial(t, order.Echo).conn
	}
	near, far := dial(t, order.Wire), dial(t, order.Wire)
	near.hello(ullathwick, order.Near, sitting.Position{})
	far.hello(ossenwaite, order.Far, sitting.Position{})
	near.until("welcome")
	far.until("welcome")
	relayed := hdrhistogram.New(1, int64(10*time.Second), 3)
	echoed := hdrhistogram.New(1, int64(10*time.Second), 3)
	for range order.Beats {
		frame := near.beatFrame(t)
		if echo != nil {
			require.NoError(t, echoed.RecordValue(int64(timed(func() {
				require.NoError(t, echo.WriteMessage(websocket.TextMessage, frame))
				_, _, err := echo.ReadMessage()
				require.NoError(t, err)
			}))))
		}
		var heard []byte
		require.NoError(t, relayed.RecordValue(int64(timed(func() {
			require.NoError(t, near.conn.WriteMessage(websocket.TextMessage, frame))
			var err error
			heard, err = far.hearsBeat()
			require.NoError(t, err)
		}))))
		near.until("answer")
		if near.act%50 == 0 {
			far.catchUp(heard)
		}
	}
	percentiles := func(h *hdrhistogram.Histogram) [2]float64 {
		return [2]float64{float64(h.ValueAtQuantile(50)) / 1e3, float64(h.ValueAtQuantile(99)) / 1e3}
	}
	times, err := json.Marshal(relayTimes{Relay: percentiles(relayed), Echo: percentiles(echoed)})
	require.NoError(t, err)
	fmt.Printf("%s%s\n", relayTablets, times)
}

func timed(do func()) time.Duration {
	began := time.Now()
	do()
	return time.Since(began)
}

// beatFrame is the next beat, ready to be sent.
func (c *client) beatFrame(tb testing.TB) []byte {
	tb.Helper()
	c.act++
	text, err := json.Marshal(map[string]any{"kind": "act", "act": c.act, "do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now())})
	require.NoError(tb, err)
	return text
}

// hearsBeat waits for a beat and gives its frame as it came.
func (c *client) hearsBeat() ([]byte, error) {
	for {
		_, text, err := c.conn.ReadMessage()
		if err != nil || bytes.Contains(text, []byte(`"pressed"`)) {
			return text, err
		}
	}
}

// catchUp reads on to the number of a beat that was heard early. It comes when everything before it is on the disk,
// and no hand outruns that by hundreds of beats. A sign of life is given, too.
func (c *client) catchUp(heard []byte) {
	c.t.Helper()
	var f frame
	require.NoError(c.t, json.Unmarshal(heard, &f))
	c.say(map[string]any{"kind": "alive", "seq": f.Seq})
	for seq := f.Seq; f.Early || f.Seq < seq; {
		f = c.next()
	}
}

// serveEcho is the address of a server that does nothing but send back.
func serveEcho(tb testing.TB) string {
	tb.Helper()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		up := websocket.Upgrader{ReadBufferSize: sitting.FrameLimit, WriteBufferSize: sitting.FrameLimit}
		conn, err := up.Upgrade(w, r, nil)
		if err != nil {
			return
		}
		defer func() { _ = conn.Close() }() // the other end has gone
		for {
			kind, text, err := conn.ReadMessage()
			if err != nil || conn.WriteMessage(kind, text) != nil {
				return
			}
		}
	}))
	tb.Cleanup(server.Close)
	return strings.Replace(server.URL, "http", "ws", 1)
}
