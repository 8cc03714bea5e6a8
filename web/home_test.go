package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// The keys of the tests, as they are drawn.
const (
	keyOfOS = "K3XT7-RMP4Q-FDHJK-WXYAC"
	keyOfUL = "CCCCC-DDDDD-EEEEE-FFFFF"
)

// locked is an evening whose boxes have keys; old, if it is not empty, is that of Ossenwaite before.
func locked(t *testing.T) *ownersEvening {
	e := serveOwner(t)
	e.http.Close()
	e.http = httptest.NewServer(web.New(web.Config{Live: e.live, Owner: e.key,
		Keys: map[block.BoxID]string{"OS": keyOfOS, "UL": keyOfUL}}))
	t.Cleanup(e.http.Close)
	return e
}

// reports are what the record has been told of whoever was turned away.
func (e *ownersEvening) reports() string {
	var all []string
	for entry, err := range e.live.Entries(e.t.Context()) {
		require.NoError(e.t, err)
		if entry.Seat == "program" {
			all = append(all, entry.Event.Words)
		}
	}
	return strings.Join(all, "\n")
}

// L2: a box that has a key is opened by no other: not by none, by that of another box, by an old one. Each is refused in
// words and stands in the record, without the key; after ten wrong ones even the right one waits a minute.
func TestBoxOpensByItsOwnKeyOnly(t *testing.T) {
	e := locked(t)
	asks := func(box, key string) (*http.Response, string) {
		return e.asks(http.MethodPost, "/s/evening/duty/"+box, url.Values{"key": {key}}, func(r *http.Request) { r.Header.Set("Accept", "application/json") })
	}
	for _, c := range []struct {
		name, key string
		status    int
		words     string
	}{
		{"none", "", http.StatusUnauthorized, "a key of its own"},
		{"that of another box", keyOfUL, http.StatusForbidden, "not the key of this box"},
		{"an old one", "K3XT7-RMP4Q-FDHJK-WXYAD", http.StatusForbidden, "not the key of this box"},
		{"half of it", keyOfOS[:11], http.StatusForbidden, "not the key of this box"},
		{"the owner's", e.key, http.StatusForbidden, "not the key of this box"},
	} {
		answer, text := asks("OS", c.key)
		require.Equal(t, c.status, answer.StatusCode, c.name)
		require.Contains(t, text, c.words, c.name)
		require.Empty(t, answer.Cookies(), c.name)
	}
	answer, text := asks("OS", " "+strings.ToLower(strings.ReplaceAll(keyOfOS, "-", " ")))
	require.Equal(t, http.StatusOK, answer.StatusCode, text)
	ticket := answer.Cookies()[0]
	answer, _ = e.asks(http.MethodPost, "/s/evening/duty/OS", nil, func(r *http.Request) {
		r.Header.Set("Accept", "application/json")
		r.AddCookie(ticket)
	})
	require.Equal(t, http.StatusOK, answer.StatusCode, "a tablet that has the box needs its key no more")

	require.Contains(t, e.reports(), "turned away: a key that is not that of OS")
	for range 9 {
		asks("UL", "guess")
	}
	answer, text = asks("UL", keyOfUL)
	require.Equal(t, http.StatusTooManyRequests, answer.StatusCode)
	require.Contains(t, text, "wait a minute")
	e.clock.Move(time.Minute)
	answer, _ = asks("UL", keyOfUL)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	for _, never := range []string{keyOfOS, keyOfUL, e.key, "guess"} {
		require.NotContains(t, e.reports(), never)
		require.NotContains(t, e.log.String(), never)
	}
}

// L2: without a script the locked door is a page with a form, and a page of another origin cannot send it.
func TestLockedDoorWithoutScript(t *testing.T) {
	e := locked(t)
	html := func(r *http.Request) { r.Header.Set("Accept", "text/html") }
	answer, _ := e.asks(http.MethodPost, "/s/evening/duty/OS", nil, html)
	require.Equal(t, "/s/evening/key/OS", answer.Header.Get("Location"))
	_, text := e.asks(http.MethodGet, "/s/evening/key/OS", nil, html)
	require.Contains(t, text, `action="/s/evening/duty/OS"`)
	answer, _ = e.asks(http.MethodPost, "/s/evening/duty/OS", url.Values{"key": {keyOfOS}}, func(r *http.Request) {
		html(r)
		r.Header.Set("Sec-Fetch-Site", "cross-site")
	})
	require.Equal(t, http.StatusForbidden, answer.StatusCode)
	answer, _ = e.asks(http.MethodPost, "/s/evening/duty/OS", url.Values{"key": {keyOfOS}}, html)
	require.Equal(t, "/s/evening/box/OS", answer.Header.Get("Location"))
}

// L2: a page of another origin and a ticket of another box are turned away at the wire, and the record has it.
func TestWireTurnsStrangersAway(t *testing.T) {
	e := locked(t)
	at := strings.Replace(e.http.URL, "http", "ws", 1) + "/s/evening/wire"
	_, answer, err := websocket.DefaultDialer.Dial(at, http.Header{"Origin": {"http://elsewhere.example"}})
	require.ErrorIs(t, err, websocket.ErrBadHandshake)
	require.Equal(t, http.StatusForbidden, answer.StatusCode)
	require.Contains(t, e.reports(), "turned away: a page of another origin, at the wire")

	e.clock.Move(time.Minute)
	seat, err := e.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	c := dial(t, at)
	c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": "OS", "as": "work", "ticket": seat.Ticket})
	require.Equal(t, sitting.KindClose, c.next().Kind)
	require.Contains(t, e.reports(), "turned away: a tablet whose ticket is not that of OS")
}

// L2: one who says more than any hand could is answered, and then closed; the sitting and the others go on.
func TestTabletThatSaysTooMuch(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	s.http.Close()
	s.http = httptest.NewServer(web.New(web.Config{Live: s.live})) // at the usual pace
	c, _ := s.join("OS", s.duty("OS"))
	for n := range 400 {
		if c.conn.WriteJSON(map[string]any{"kind": "act", "act": n + 1, "do": "remark", "words": "x"}) != nil {
			break // closed
		}
	}
	for { // it is closed, whether or not it was told why
		if _, _, err := c.conn.ReadMessage(); err != nil {
			break
		}
	}
	done := 0
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Event.Do == block.Remark {
			done++
		}
	}
	require.GreaterOrEqual(t, done, 100)
	require.Less(t, done, 300)
	other, _ := s.join("UL", s.duty("UL"))
	other.say(map[string]any{"kind": "act", "act": 1, "do": "beat", "circuit": "UL-OS"})
	for other.next().Act != 1 {
	}
}

// L2: a machine that asks for too much waits; this machine and the others do not.
func TestMachineThatAsksTooMuch(t *testing.T) {
	e := locked(t)
	handler := web.New(web.Config{Live: e.live})
	get := func(from string) int {
		r := httptest.NewRequest(http.MethodGet, "/ok", nil)
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		return w.Code
	}
	turned := 0
	for range 1000 {
		if get("203.0.113.7:4000") == http.StatusTooManyRequests { // an address for documentation, RFC 5737
			turned++
		}
	}
	require.Positive(t, turned)
	require.Equal(t, http.StatusOK, get("203.0.113.8:4000"))
	require.Equal(t, http.StatusOK, get("127.0.0.1:4000"))
	require.Contains(t, e.reports(), "turned away: a machine that asks for too much")
}

// L2: a machine has forty tablets at the wire at most.
func TestTooManyTabletsOfOneMachine(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	var all []*client
	for range 40 {
		all = append(all, dial(t, s.wire()))
	}
	_, answer, err := websocket.DefaultDialer.Dial(s.wire(), nil)
	require.ErrorIs(t, err, websocket.ErrBadHandshake)
	require.Equal(t, http.StatusTooManyRequests, answer.StatusCode)
	require.NoError(t, all[0].conn.Close())
	require.Eventually(t, func() bool {
		conn, _, err := websocket.DefaultDialer.Dial(s.wire(), nil)
		return err == nil && conn.Close() == nil
	}, frameWait, 10*time.Millisecond)
}

// L4: a minute after a tablet's line was cut the owner is told what he may do, and nothing is done by itself.
func TestOwnerIsToldOfACutLine(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	seat, err := e.live.TakeDuty(t.Context(), "OS", "A. Far")
	require.NoError(t, err)
	w, err := e.live.Watch(t.Context(), seat, sitting.Position{})
	require.NoError(t, err)
	w.Close()
	const words = "Silent for a minute: wait, put a simulated signaller in, or free the box for another."
	page := func() string {
		_, text := e.asks(http.MethodGet, "/s/evening/owner", nil, nil)
		return text
	}
	e.clock.Move(59 * time.Second)
	require.NotContains(t, page(), words)
	e.clock.Move(2 * time.Second)
	require.Contains(t, page(), words)
	require.True(t, e.live.Holds(t.Context(), seat))
	back, err := e.live.Watch(t.Context(), seat, sitting.Position{})
	require.NoError(t, err)
	defer back.Close()
	require.NotContains(t, page(), words)
}

// L1: the others see at the door and at the owner's that a box is worked from home.
func TestTheShedSeesThatABoxIsWorkedFromHome(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	seat, err := e.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	w, err := e.live.Watch(t.Context(), seat, sitting.Position{})
	require.NoError(t, err)
	defer w.Close()
	w.Far(t.Context())
	_, door := e.asks(http.MethodGet, "/", nil, nil)
	require.Contains(t, door, ", from home")
	_, page := e.asks(http.MethodGet, "/s/evening/owner", nil, nil)
	require.Contains(t, page, "on the wire, from home")
}
