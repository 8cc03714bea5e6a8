package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"
)

// A11: the owner sees how good the network of each tablet is, in one of three words with what to do about it, measured by
// the wire's own pings; with too few of them nothing is said, and a tablet that has gone is forgotten.
func TestOwnerSeesTheNetworkOfEachTablet(t *testing.T) {
	t.Parallel()
	e := serveOwner(t)
	e.enters()
	wire := strings.Replace(e.http.URL, "http", "ws", 1) + "/s/evening/wire"
	joins := func(box string, late time.Duration) *client {
		t.Helper()
		ticket := takeDuty(t, e.http.URL+"/s/evening/duty/"+box)
		c := dial(t, wire)
		c.conn.SetPingHandler(func(sent string) error {
			pause(late)
			return c.conn.WriteControl(websocket.PongMessage, []byte(sent), time.Now().Add(frameWait))
		})
		c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": box, "as": "work", "ticket": ticket})
		c.until("welcome")
		return c
	}
	near, far := joins("UL", 0), joins("OS", 190*time.Millisecond)
	require.NotContains(t, e.page(), "network")
	for _, c := range []*client{near, far} {
		go func() {
			for {
				if _, _, err := c.conn.ReadMessage(); err != nil {
					return
				}
			}
		}()
	}
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(time.Second):
				alive([]*client{near})
				_ = far.conn.WriteMessage(websocket.TextMessage, []byte(`{"kind":"alive"}`)) // a pong of its own goes beside it
			}
		}
	}()
	require.Eventually(t, func() bool {
		page := e.page()
		return strings.Contains(page, "on the wire, network good (") && strings.Contains(page, "network bad (") && strings.Contains(page, "give it another network")
	}, frameWait, 200*time.Millisecond)
	require.NoError(t, near.conn.Close())
	require.Eventually(t, func() bool { return !strings.Contains(e.page(), "network good") }, frameWait, 100*time.Millisecond)
}
