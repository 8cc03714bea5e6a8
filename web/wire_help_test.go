package web_test

import (
	"context"
	"encoding/json"
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

// The two boxes of the tiny layout, their bells and the line that trains take from the first to the second.
const (
	ullathwick = block.BoxID("UL")
	ossenwaite = block.BoxID("OS")
	bells      = block.CircuitID("UL-OS")
	downMain   = block.SectionID("UL-OS Down Main")
)

// frameWait is how long a test waits for a frame that must come; it decides nothing but when to give up.
const frameWait = 20 * time.Second

// served is a sitting on the tiny layout behind a real socket.
type served struct {
	t    testing.TB
	host *sitting.Host
	live *sitting.Live
	http *httptest.Server
}

func serve(t testing.TB, k sitting.Keeper) *served {
	t.Helper()
	s := &served{t: t, host: sitting.NewHost(k, sitting.NewRealClock(), "taillamp test")}
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	s.live, err = s.host.Open(context.Background(), "evening", h)
	require.NoError(t, err)
	s.http = httptest.NewServer(web.New(web.Config{Live: s.live, Word: "Signal", Pace: 1e6}))
	t.Cleanup(func() {
		_ = s.host.Close(context.Background()) // some tests have spoilt it on purpose
		s.http.Close()
	})
	return s
}

// duty takes a box as a page does, and gives the ticket.
func (s *served) duty(box block.BoxID) string {
	s.t.Helper()
	return takeDuty(s.t, s.http.URL+"/s/evening/duty/"+string(box))
}

func takeDuty(t testing.TB, at string) string {
	t.Helper()
	answer, err := http.Post(at, "application/x-www-form-urlencoded", nil)
	require.NoError(t, err)
	defer func() { require.NoError(t, answer.Body.Close()) }()
	require.Equal(t, http.StatusOK, answer.StatusCode)
	var got struct{ Ticket string }
	require.NoError(t, json.NewDecoder(answer.Body).Decode(&got))
	require.NotEmpty(t, got.Ticket)
	return got.Ticket
}

// frame is any frame of the server's.
type frame struct {
	Kind    string
	Epoch   string
	Seq     uint64
	Act     uint64
	Acted   uint64
	Ending  block.Ending
	Why     string
	Words   string
	Again   bool
	Circuit block.CircuitID
	Voice   string
	Early   bool
	Pressed sitting.Millis
	At      sitting.Millis
	Away    json.RawMessage
	Asks    json.RawMessage
	Changes []block.Change
	View    *block.View
	Book    []struct{ Kind string }
	Missed  string
	T0      float64
	T1, T2  float64
	Now     float64
	Alive   int
}

// UnmarshalJSON takes the words of an answer; news and welcome have an object of that name.
func (f *frame) UnmarshalJSON(text []byte) error {
	type plain frame
	got := struct {
		*plain
		Words json.RawMessage
	}{plain: (*plain)(f)}
	if err := json.Unmarshal(text, &got); err != nil {
		return err
	}
	if len(got.Words) == 0 || got.Words[0] != '"' {
		return nil
	}
	return json.Unmarshal(got.Words, &f.Words)
}

// client is a tablet's end of the wire.
type client struct {
	t    testing.TB
	conn *websocket.Conn
	act  uint64
}

// dial opens a socket at an address and says nothing yet.
func dial(t testing.TB, at string) *client {
	t.Helper()
	conn, answer, err := websocket.DefaultDialer.Dial(at, nil)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	t.Cleanup(func() { _ = conn.Close() }) // it may be closed already
	return &client{t: t, conn: conn}
}

func (s *served) wire() string {
	return strings.Replace(s.http.URL, "http", "ws", 1) + "/s/evening/wire"
}

// join opens a socket, says hello and takes the welcome.
func (s *served) join(box block.BoxID, ticket string) (*client, frame) {
	s.t.Helper()
	c := dial(s.t, s.wire())
	c.hello(box, ticket, sitting.Position{})
	welcome := c.next()
	require.Equal(s.t, "welcome", welcome.Kind, welcome.Why)
	return c, welcome
}

func (c *client) hello(box block.BoxID, ticket string, have sitting.Position) {
	c.t.Helper()
	as := "work"
	if ticket == "" {
		as = "watch"
	}
	c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": box, "as": as, "ticket": ticket, "have": have})
}

func (c *client) say(f any) {
	c.t.Helper()
	if err := c.conn.WriteJSON(f); err != nil {
		last, code := c.end()
		require.NoError(c.t, err, "closed with %d: %s", code, last.Why)
	}
}

// read takes the next frame, or tells how the socket was closed.
func (c *client) read() (frame, error) {
	_ = c.conn.SetReadDeadline(time.Now().Add(frameWait)) // a broken socket shows at once
	var f frame
	err := c.conn.ReadJSON(&f)
	return f, err
}

// next takes the next frame that is not a sign of life.
func (c *client) next() frame {
	c.t.Helper()
	for {
		f, err := c.read()
		require.NoError(c.t, err)
		if f.Kind != "alive" {
			return f
		}
	}
}

// until takes frames up to one of a kind.
func (c *client) until(kind string) frame {
	c.t.Helper()
	for {
		if f := c.next(); f.Kind == kind {
			return f
		}
	}
}

// do sends the next act.
func (c *client) do(act map[string]any) uint64 {
	c.t.Helper()
	c.act++
	act["kind"], act["act"] = "act", c.act
	c.say(act)
	return c.act
}

// beat presses the bell now.
func (c *client) beat() sitting.Millis {
	c.t.Helper()
	pressed := sitting.MillisOf(time.Now())
	c.do(map[string]any{"do": "beat", "circuit": bells, "pressed": pressed})
	return pressed
}

// end reads to the end and tells the last frame and the code of closing.
func (c *client) end() (last frame, code int) {
	c.t.Helper()
	for {
		f, err := c.read()
		if err == nil {
			last = f
			continue
		}
		var closed *websocket.CloseError
		require.ErrorAs(c.t, err, &closed)
		return last, closed.Code
	}
}
