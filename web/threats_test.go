package web_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// asIs sends a request line that no client would send, and gives status and text.
func (s *served) asIs(line string) (int, string) {
	s.t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(s.http.URL, "http://"))
	require.NoError(s.t, err)
	defer func() { _ = conn.Close() }() // it was only read
	_, err = fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: shed\r\nConnection: close\r\n\r\n", line)
	require.NoError(s.t, err)
	require.NoError(s.t, conn.SetReadDeadline(time.Now().Add(frameWait)))
	answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
	require.NoError(s.t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(s.t, err)
	return answer.StatusCode, string(text)
}

// L2, Q13: no path leads out of what is served, however it is written (the spellings are those of CWE-22, CWE-23 and
// CWE-158). None is answered with a file of this machine or of the program's.
func TestNoPathLeadsOutside(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	for _, up := range []string{"../", "..%2f", "%2e%2e/", "%2e%2e%2f", `..\`, "..%5c", "....//", "%252e%252e%252f"} {
		for _, room := range []string{"/static/", "/sounds/", "/s/evening/book/", "/s/evening/paper/", "/s/", "/bookcase/", "/"} {
			for _, file := range []string{"etc/passwd", "web.go", "pages/door.html"} {
				line := room + strings.Repeat(up, 6) + file
				status, text := s.asIs(line)
				require.NotEqual(t, http.StatusOK, status, line)
				require.NotContains(t, text, "root:", line)
				require.NotContains(t, text, "package web", line)
			}
		}
	}
	for _, line := range []string{"/static/", "/sounds/", "/static/.", "/static/%00", "/static/shelf.mjs%00.css", "/s/evening/box/OS%00"} {
		status, _ := s.asIs(line)
		require.GreaterOrEqual(t, status, 300, line)
	}
}

// L2: whoever looks on, as a visitor or at a box, can do nothing: his acts are refused in words and leave nothing in the
// record, and nothing that he is given, by a page or by the wire, has a ticket in it.
func TestWhoLooksOnCanDoNothing(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	tickets := []string{s.duty(ullathwick), s.duty(ossenwaite)}
	for _, as := range []string{"visitor", "watch"} {
		c := dial(t, s.wire())
		c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": map[string]string{"watch": "OS"}[as], "as": as})
		require.Equal(t, "welcome", c.next().Kind, as)
		for _, act := range []map[string]any{
			{"do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now())},
			{"do": "turn", "section": downMain, "show": "occupied"},
			{"do": "remark", "words": "from a visitor"},
			{"do": "duty", "off": true},
		} {
			c.do(act)
			answer := c.until("answer")
			require.Equal(t, sitting.Impossible, answer.Ending, "%s: %v", as, act)
			require.NotEmpty(t, answer.Words)
		}
	}
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		require.NotContains(t, []block.Do{block.Beat, block.Turn, block.Remark}, e.Event.Do)
	}
	for _, path := range []string{"/", "/s/evening/visitors", "/s/evening/box/OS", "/s/evening/book/OS", "/s/evening/book/OS.json", "/s/evening/findings", "/s/evening/evening"} {
		_, text := s.get(path)
		for _, ticket := range tickets {
			require.NotContains(t, text, ticket, path)
		}
	}
}

// L2: a stranger who sends his requests letter by letter, or opens the wire and says nothing, is shown out by the program
// itself, and meanwhile it answers everybody else. The form of attack is CWE-400's, by slow headers and slow forms.
func TestSlowStrangersAreShownOut(t *testing.T) {
	t.Parallel()
	p := build(t)
	p.start()
	at := fmt.Sprintf("127.0.0.1:%d", p.port)
	name := p.sitting()
	var strangers []net.Conn
	for n := range 30 {
		conn, err := net.Dial("tcp", at)
		require.NoError(t, err)
		defer func() { _ = conn.Close() }() // the program has closed it
		begin := "GET / HTTP/1.1\r\nHost: shed\r\nX-Slow: "
		if n%2 == 1 {
			begin = "GET /s/" + name + "/wire HTTP/1.1\r\nHost: shed\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n" +
				"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n" // the key of RFC 6455, 1.3
		}
		_, err = io.WriteString(conn, begin)
		require.NoError(t, err)
		strangers = append(strangers, conn)
	}
	answer, err := http.Get("http://" + at + "/ok")
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode)
	for _, conn := range strangers {
		require.NoError(t, conn.SetReadDeadline(time.Now().Add(frameWait)))
		_, err := io.Copy(io.Discard, conn)
		var late net.Error
		if e, is := err.(net.Error); is {
			late = e
		}
		require.False(t, late != nil && late.Timeout(), "it is the program that closes")
	}
}
