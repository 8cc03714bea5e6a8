package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// H1: only the owner's key makes an instructor. Whoever looks on without it is told nothing that is for the signaller of the
// box alone, and the signaller is told of him in other words.
func TestOnlyTheKeyMakesAnInstructor(t *testing.T) {
	s := serveOwner(t)
	s.enters()
	hello := func(as string, cookies ...*http.Cookie) (*websocket.Conn, map[string]any) {
		t.Helper()
		h := http.Header{}
		for _, c := range cookies {
			h.Add("Cookie", c.Name+"="+c.Value)
		}
		c, answer, err := websocket.DefaultDialer.Dial(strings.Replace(s.http.URL, "http", "ws", 1)+"/s/evening/wire", h)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		t.Cleanup(func() { _ = c.Close() })
		require.NoError(t, c.WriteMessage(websocket.TextMessage, fmt.Appendf(nil, `{"kind":"hello","proto":1,"sitting":"evening","box":"OS","as":%q}`, as)))
		return c, next(t, c)
	}
	seat, err := s.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	require.NoError(t, s.live.Tell(t.Context(), []block.BoxID{"OS"}, "Mind the fog."))
	signaller, welcome := hello("work", &http.Cookie{Name: "seat-evening-OS", Value: seat.Ticket})
	require.Equal(t, map[string]any{}, welcome["watched"])
	for _, made := range []string{"", "made up"} {
		_, f := hello("owner", &http.Cookie{Name: s.cookie.Name, Value: made})
		require.Equal(t, "close", f["kind"])
	}
	_, f := hello("watch", s.cookie) // who does not ask for it is none
	require.Nil(t, f["told"])
	require.Equal(t, map[string]any{"as": "watch"}, next(t, signaller)["watched"])
	_, f = hello("owner", s.cookie)
	require.Equal(t, map[string]any{"all": []any{"Mind the fog."}}, f["told"])
	require.Equal(t, map[string]any{"as": "owner"}, next(t, signaller)["watched"])

	_, page := s.asks(http.MethodGet, "/s/evening/box/OS", nil, nil)
	require.Contains(t, page, "as its signaller sees it")
	require.Contains(t, page, "strip relief told")
	s.cookie = nil
	_, page = s.asks(http.MethodGet, "/s/evening/box/OS", nil, nil)
	require.Contains(t, page, "You look in")
	require.NotContains(t, page, "strip relief told")
	require.NotContains(t, page, "Owner</a>")
}

// next is the next frame of a wire but signs of life.
func next(t *testing.T, c *websocket.Conn) map[string]any {
	t.Helper()
	for {
		var f map[string]any
		require.NoError(t, c.ReadJSON(&f))
		if f["kind"] != "alive" {
			return f
		}
	}
}
