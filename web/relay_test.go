package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/HdrHistogram/hdrhistogram-go"
	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// BenchmarkRelay measures a beat from one tablet's socket to the other's against a bare gorilla echo of the same frame,
// one after the other in the same run, so that what else the machine does falls on both alike. The record is kept in a
// folder, with every sync. Goals: p50 within twice the echo's, p99 within one and a half.
func BenchmarkRelay(b *testing.B) {
	files, err := sitting.NewFiles(b.TempDir())
	require.NoError(b, err)
	s := serve(b, files)
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	echo := dialEcho(b)
	relayed := hdrhistogram.New(1, int64(10*time.Second), 3)
	echoed := hdrhistogram.New(1, int64(10*time.Second), 3)
	var heard []byte
	for b.Loop() {
		frame := near.beatFrame(b)
		require.NoError(b, echoed.RecordValue(int64(timed(func() {
			require.NoError(b, echo.WriteMessage(websocket.TextMessage, frame))
			_, _, err := echo.ReadMessage()
			require.NoError(b, err)
		}))))
		require.NoError(b, relayed.RecordValue(int64(timed(func() {
			require.NoError(b, near.conn.WriteMessage(websocket.TextMessage, frame))
			heard, err = far.hearsBeat()
			require.NoError(b, err)
		}))))
		near.until("answer")
		if near.act%50 == 0 {
			far.catchUp(heard)
		}
	}
	b.ReportMetric(0, "ns/op") // the two histograms tell; their sum tells nothing
	for name, q := range map[string]float64{"p50": 50, "p99": 99} {
		r, e := float64(relayed.ValueAtQuantile(q)), float64(echoed.ValueAtQuantile(q))
		b.ReportMetric(r/1e3, "relay-"+name+"-µs")
		b.ReportMetric(e/1e3, "echo-"+name+"-µs")
		b.ReportMetric(r/e, "ratio-"+name)
	}
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

// dialEcho opens a socket to a server that does nothing but send back.
func dialEcho(tb testing.TB) *websocket.Conn {
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
	return dial(tb, strings.Replace(server.URL, "http", "ws", 1)).conn
}
