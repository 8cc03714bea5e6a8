package web_test

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// get asks for a page and follows nothing.
func (s *served) get(path string) (*http.Response, string) {
	s.t.Helper()
	stay := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := stay.Get(s.http.URL + path)
	require.NoError(s.t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(s.t, err)
	require.NoError(s.t, answer.Body.Close())
	return answer, string(text)
}

// Q7: every answer says that nothing is to come from anywhere else.
func TestEveryAnswerKeepsToItself(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	for path, status := range map[string]int{
		"/": 200, "/s/evening/box/OS": 200, "/s/evening/book/OS": 200, "/s/evening/book/OS.csv": 200,
		"/s/evening/book/OS.json": 200, "/s/evening/findings": 200, "/ok": 200,
		"/s/yesterday/box/OS": 404, "/s/evening/box/XX": 404, "/s/evening/book/OS.exe": 404, "/nothing": 404,
	} {
		answer, text := s.get(path)
		require.Equal(t, status, answer.StatusCode, path)
		require.NotEmpty(t, text, path)
		policy := answer.Header.Get("Content-Security-Policy")
		require.Contains(t, policy, "default-src 'self'", path)
		require.Contains(t, policy, "frame-ancestors 'none'", path)
		require.NotContains(t, policy, "unsafe", path)
		require.Equal(t, "nosniff", answer.Header.Get("X-Content-Type-Options"), path)
		require.Equal(t, "same-origin", answer.Header.Get("Referrer-Policy"), path)
	}
}

// A8: a short word typed behind the address, in letters of either size, leads to the door.
func TestTypedWordLeadsToTheDoor(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	for _, word := range []string{"/signal", "/SIGNAL", "/Signal"} {
		answer, _ := s.get(word)
		require.Equal(t, http.StatusSeeOther, answer.StatusCode)
		require.Equal(t, "/", answer.Header.Get("Location"))
	}
}

// A9: a box that has a signaller is refused to another in words; the tablet that has it keeps it when it loads anew.
func TestDutyIsOnesOwn(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	at := s.http.URL + "/s/evening/duty/OS"
	first, err := http.PostForm(at, url.Values{"who": {"A. Porter"}})
	require.NoError(t, err)
	ticket, err := io.ReadAll(first.Body)
	require.NoError(t, err)
	require.NoError(t, first.Body.Close())
	require.Equal(t, http.StatusOK, first.StatusCode)
	cookie := first.Cookies()[0]
	require.True(t, cookie.HttpOnly)
	require.Equal(t, http.SameSiteStrictMode, cookie.SameSite)

	second, err := http.PostForm(at, nil)
	require.NoError(t, err)
	words, err := io.ReadAll(second.Body)
	require.NoError(t, err)
	require.NoError(t, second.Body.Close())
	require.Equal(t, http.StatusConflict, second.StatusCode)
	require.Contains(t, string(words), "That box is worked by A. Porter")

	again, err := http.NewRequest(http.MethodPost, at, nil)
	require.NoError(t, err)
	again.AddCookie(cookie)
	third, err := http.DefaultClient.Do(again)
	require.NoError(t, err)
	same, err := io.ReadAll(third.Body)
	require.NoError(t, err)
	require.NoError(t, third.Body.Close())
	require.Equal(t, string(ticket), string(same))

	_, door := s.get("/s/evening/book/OS.json")
	require.Contains(t, door, "signalman on duty: A. Porter")
}

// Q7: a page from elsewhere can neither open the wire nor take a box.
func TestOtherOriginsAreRefused(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	_, answer, err := websocket.DefaultDialer.Dial(s.wire(), http.Header{"Origin": {"http://elsewhere.example"}})
	require.Error(t, err)
	require.Equal(t, http.StatusForbidden, answer.StatusCode)
	require.NoError(t, answer.Body.Close())
	post, err := http.NewRequest(http.MethodPost, s.http.URL+"/s/evening/duty/OS", nil)
	require.NoError(t, err)
	post.Header.Set("Origin", "http://elsewhere.example")
	post.Header.Set("Sec-Fetch-Site", "cross-site")
	refused, err := http.DefaultClient.Do(post)
	require.NoError(t, err)
	require.NoError(t, refused.Body.Close())
	require.Equal(t, http.StatusForbidden, refused.StatusCode)
}

func TestBookIsTakenAwayAsCSV(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	s.duty(ossenwaite)
	answer, text := s.get("/s/evening/book/OS.csv")
	require.Equal(t, "text/csv; charset=utf-8", answer.Header.Get("Content-Type"))
	lines := strings.Split(strings.TrimSpace(text), "\n")
	require.Len(t, lines, 2)
	require.True(t, strings.HasPrefix(lines[0], "no,page,kind,train"))
	require.Contains(t, lines[1], "signalman on duty")
}

var errDisk = errors.New("no space left on the card")

// spoilt is a Keeper whose disk can be made to refuse.
type spoilt struct {
	sitting.Keeper
	refuse atomic.Bool
	unsure bool // nobody knows what it has when it refuses
}

func (k *spoilt) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := k.Keeper.Begin(ctx, name, h)
	return &spoiltRecord{r, k}, err
}

type spoiltRecord struct {
	sitting.Record
	k *spoilt
}

func (r *spoiltRecord) Append(ctx context.Context, entries ...block.Entry) error {
	if r.k.refuse.Load() && r.k.unsure {
		return &sitting.UnsureError{Err: errDisk}
	}
	if r.k.refuse.Load() {
		return errDisk
	}
	return r.Record.Append(ctx, entries...)
}

// When the disk refuses, the far box is told no fact but that, and is not to come back.
func TestDiskThatRefusesClosesTheWire(t *testing.T) {
	k := &spoilt{Keeper: sitting.NewMemory()}
	s := serve(t, k)
	near, _ := s.join(ullathwick, s.duty(ullathwick))
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	k.refuse.Store(true)
	far.do(map[string]any{"do": "turn", "section": downMain, "show": "clear"})
	answer := far.until("answer")
	require.Equal(t, sitting.Impossible, answer.Ending)
	require.Equal(t, "not-recorded", answer.Why)
	last, code := near.end()
	require.Equal(t, 4010, code)
	require.Equal(t, "close", last.Kind)
	require.False(t, last.Again)
	require.Contains(t, last.Why, "the disk refused")
	ok, text := s.get("/ok")
	require.Equal(t, http.StatusServiceUnavailable, ok.StatusCode)
	require.Contains(t, text, "the disk refused")
}

// Q13: where nobody knows whether the failing disk has an act, its tablet is told that the disk refused, and neither that the
// act was recorded nor that it was not: it asks again when the sitting is gone on with.
func TestDiskThatCannotBeAskedGivesNoAnswer(t *testing.T) {
	k := &spoilt{Keeper: sitting.NewMemory(), unsure: true}
	s := serve(t, k)
	far, _ := s.join(ossenwaite, s.duty(ossenwaite))
	k.refuse.Store(true)
	far.do(map[string]any{"do": "turn", "section": downMain, "show": "clear"})
	for {
		f := far.next()
		require.NotEqual(t, "answer", f.Kind)
		if f.Kind == "close" {
			require.Contains(t, f.Why, "the disk refused")
			require.False(t, f.Again)
			return
		}
	}
}
