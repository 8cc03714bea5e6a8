package web_test

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// ownersEvening is a sitting with an owner's page, its clock moved by hand.
type ownersEvening struct {
	*served
	clock  *sitting.HandClock
	key    string
	log    *bytes.Buffer
	sheets *syllabus.Sheets
	cookie *http.Cookie // once the key has been exchanged
}

func serveOwner(t *testing.T) *ownersEvening {
	t.Helper()
	e := &ownersEvening{clock: sitting.NewHandClock(time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)), key: sitting.NewKey(), log: &bytes.Buffer{},
		sheets: syllabus.InMemory()}
	e.served = &served{t: t, host: sitting.NewHost(sitting.NewMemory(), e.clock, "taillamp test")}
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	e.live, err = e.host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	e.http = httptest.NewServer(web.New(web.Config{Live: e.live, Owner: e.key, Sheets: e.sheets, Log: slog.New(slog.NewTextHandler(e.log, nil))}))
	t.Cleanup(func() {
		_ = e.host.Close(context.Background()) // nobody here has to be told
		e.http.Close()
	})
	return e
}

// asks sends a form, with the owner's cookie if he has one, and gives status, text and cookies.
func (e *ownersEvening) asks(method, path string, fields url.Values, change func(*http.Request)) (*http.Response, string) {
	e.t.Helper()
	r, err := http.NewRequest(method, e.http.URL+path, strings.NewReader(fields.Encode()))
	require.NoError(e.t, err)
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if e.cookie != nil {
		r.AddCookie(e.cookie)
	}
	if change != nil {
		change(r)
	}
	stay := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := stay.Do(r)
	require.NoError(e.t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(e.t, err)
	require.NoError(e.t, answer.Body.Close())
	return answer, string(text)
}

// tries offers a key.
func (e *ownersEvening) tries(key string) (*http.Response, string) {
	return e.asks(http.MethodPost, "/owner", url.Values{"key": {key}}, nil)
}

// enters exchanges the key.
func (e *ownersEvening) enters() {
	e.t.Helper()
	answer, _ := e.tries(e.key)
	require.Equal(e.t, http.StatusSeeOther, answer.StatusCode)
	require.Equal(e.t, "/s/evening/owner", answer.Header.Get("Location"))
	require.Len(e.t, answer.Cookies(), 1)
	e.cookie = answer.Cookies()[0]
}

// does has the owner do something, and gives his page.
func (e *ownersEvening) does(fields url.Values) string {
	e.t.Helper()
	answer, text := e.asks(http.MethodPost, "/s/evening/owner", fields, nil)
	require.Equal(e.t, http.StatusSeeOther, answer.StatusCode, text)
	return e.page()
}

func (e *ownersEvening) page() string {
	e.t.Helper()
	answer, text := e.asks(http.MethodGet, "/s/evening/owner", nil, nil)
	require.Equal(e.t, http.StatusOK, answer.StatusCode, text)
	return text
}

// L2: without the key there is no page and nothing can be done, in one sentence; the key in another sitting's cookie, a
// cookie made up, and a key of an earlier start are none.
func TestOwnersPageNeedsItsKey(t *testing.T) {
	e := serveOwner(t)
	refused := func(why string) {
		t.Helper()
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			answer, text := e.asks(method, "/s/evening/owner", url.Values{"do": {"pause"}}, nil)
			require.Equal(t, http.StatusForbidden, answer.StatusCode, why)
			require.Equal(t, 1, strings.Count(strings.TrimSpace(text), "\n")+1, why)
			require.NotContains(t, text, "<", why)
		}
	}
	refused("no cookie")
	for _, value := range []string{"", "x", e.key, strings.Repeat("0", 64)} {
		e.cookie = &http.Cookie{Name: "owner-evening", Value: value}
		refused("made-up cookie " + value)
	}
	other := serveOwner(t) // another start has another key
	other.enters()
	e.cookie = other.cookie
	refused("a cookie of another start")
	e.cookie = nil
	answer, text := e.tries(other.key)
	require.Equal(t, http.StatusForbidden, answer.StatusCode)
	require.Contains(t, text, "That is not the owner's key of today")
	require.Empty(t, answer.Cookies())
	_, state := e.live.Snapshot()
	require.False(t, e.live.Rules().View(state, ossenwaite).Paused)
}

// L2: the cookie is strict, out of reach of scripts, and is not the key; the key stands in no page, address or log.
func TestOwnersKeyIsKeptToHim(t *testing.T) {
	e := serveOwner(t)
	_, text := e.tries("34679-ACDEF-GHJKM-NPQRT")
	require.NotContains(t, text, e.key)
	e.enters()
	require.True(t, e.cookie.HttpOnly)
	require.Equal(t, http.SameSiteStrictMode, e.cookie.SameSite)
	require.NotContains(t, e.cookie.Value, strings.ReplaceAll(e.key, "-", ""))
	require.NotContains(t, e.page(), e.key)
	_, door := e.get("/")
	require.NotContains(t, door, e.key)
	require.NotContains(t, door, "/owner", "the door leads nobody there")
	require.Contains(t, e.log.String(), "a wrong owner's key was tried")
	for _, secret := range []string{e.key, "34679-ACDEF", e.cookie.Value} {
		require.NotContains(t, e.log.String(), secret)
	}
	small, _ := e.asks(http.MethodPost, "/owner", url.Values{"key": {strings.ToLower(strings.ReplaceAll(e.key, "-", " "))}}, nil)
	require.Equal(t, http.StatusSeeOther, small.StatusCode, "however he types it")
}

// L2: after ten wrong keys in a minute even the right one must wait until the minute is over; one who has the cookie
// goes on meanwhile.
func TestTooManyWrongKeysMustWait(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	for range 10 {
		answer, _ := e.tries("wrong")
		require.Equal(t, http.StatusForbidden, answer.StatusCode)
	}
	for _, key := range []string{"wrong", e.key} {
		answer, text := e.tries(key)
		require.Equal(t, http.StatusTooManyRequests, answer.StatusCode)
		require.Equal(t, "60", answer.Header.Get("Retry-After"))
		require.Contains(t, text, "wait a minute")
	}
	e.page()
	e.clock.Move(time.Minute)
	answer, _ := e.tries(e.key)
	require.Equal(t, http.StatusSeeOther, answer.StatusCode)
}

// L2, Q7: a page from elsewhere can do nothing with the owner's cookie, by either of the headers that browsers send.
func TestOwnersPageRefusesOtherOrigins(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	for name, value := range map[string]string{"Origin": "http://elsewhere.example", "Sec-Fetch-Site": "cross-site"} {
		for _, path := range []string{"/s/evening/owner", "/owner"} {
			answer, _ := e.asks(http.MethodPost, path, url.Values{"do": {"pause"}, "key": {e.key}}, func(r *http.Request) { r.Header.Set(name, value) })
			require.Equal(t, http.StatusForbidden, answer.StatusCode, "%s %s", name, path)
		}
	}
	require.NotContains(t, e.page(), "Paused since")
}

// Without a key in its settings a program has no owner's page at all, whatever is typed.
func TestNoKeyNoOwner(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	for _, key := range []string{"", "-", " "} {
		r, err := http.PostForm(s.http.URL+"/owner", url.Values{"key": {key}})
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		require.Equal(t, http.StatusForbidden, r.StatusCode)
	}
}

// A16: the owner adds a train, moves one and withdraws one from his page. The notices of the boxes and the page of the
// visitors go by it, the page says what he did and when, and what cannot be is said in words.
func TestOwnerChangesTheSequence(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	text := e.does(url.Values{"do": {"add"}, "train": {"31"}, "as": {"4"}, "at": {"15:33"}})
	require.Contains(t, text, "Train 31 added at 15.33, to run as 4")
	_, box := e.asks(http.MethodGet, "/s/evening/box/UL", nil, nil)
	require.Regexp(t, `<li data-train="31" class="added">.*<em>added</em>`, box)
	require.Contains(t, e.does(url.Values{"do": {"move"}, "train": {"31"}, "at": {"15.34"}}), "Train 31 moved at 15.34")
	require.Contains(t, e.does(url.Values{"do": {"withdraw"}, "train": {"31"}, "at": {""}}), "Train 31 withdrawn")
	_, box = e.asks(http.MethodGet, "/s/evening/box/UL", nil, nil)
	require.Regexp(t, `<li data-train="31" class="withdrawn"><button type="button" aria-pressed="false" disabled>`, box)
	require.Equal(t, 4, strings.Count(box, "<li data-train="), "three trains that run, and the one that does not")
	for want, wrong := range map[string]url.Values{
		"time of day":     {"do": {"move"}, "train": {"4"}, "at": {"teatime"}},
		"give it another": {"do": {"add"}, "train": {"4"}, "as": {"1"}, "at": {"16.40"}},
		"of its own":      {"do": {"add"}, "train": {""}, "as": {"1"}, "at": {"16.40"}},
		"is not there":    {"do": {"withdraw"}, "train": {"99"}},
	} {
		answer, words := e.asks(http.MethodPost, "/s/evening/owner", wrong, nil)
		require.Equal(t, http.StatusConflict, answer.StatusCode)
		require.Contains(t, words, want)
	}
}

// A9, A10, A12: the owner sees who is where, ears and wire, and what each box waits for; what he does is done, told and
// listed.
func TestOwnerSeesAndActs(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	require.Contains(t, e.page(), "Nobody there")
	seat, err := e.live.TakeDuty(t.Context(), ossenwaite, "A. Porter")
	require.NoError(t, err)
	text := e.page()
	require.Contains(t, text, "A. Porter, since 15.30")
	require.Contains(t, text, "bells not tried")
	require.Contains(t, text, "tablet not seen on the wire yet")
	_, err = e.live.Act(t.Context(), seat, 0, block.Event{Do: block.Ears, Words: "heard"})
	require.NoError(t, err)
	tablet, _ := e.join(ossenwaite, seat.Ticket)
	text = e.page()
	require.Contains(t, text, "hears the bells")
	require.Contains(t, text, "on the wire")

	_, err = e.live.Act(t.Context(), seat, 0, block.Event{Do: block.Beat, Circuit: bells})
	require.NoError(t, err)
	e.clock.Move(5 * time.Second)
	require.Contains(t, e.page(), "calls Ullathwick, unanswered since 15.30")

	require.Contains(t, e.does(url.Values{"do": {"pause"}}), "Paused since 15.30")
	tablet.do(map[string]any{"do": "turn", "section": downMain, "show": "clear"})
	require.Equal(t, "paused", tablet.until("answer").Why)
	require.NotContains(t, e.does(url.Values{"do": {"go"}}), "Paused since")
	require.Contains(t, e.does(url.Values{"do": {"remark"}, "words": {"the <express> is late"}}), "Remark: the &lt;express&gt; is late")

	text = e.does(url.Values{"do": {"fail"}, "circuit": {string(bells)}, "where": {"bell"}})
	require.Equal(t, 2, strings.Count(text, "Bell with Ullathwick: failed")+strings.Count(text, "Bell with Ossenwaite Junction: failed"), "at both its ends")
	require.Contains(t, e.does(url.Values{"do": {"mend"}, "circuit": {string(bells)}, "where": {"bell"}}), "mended")

	require.Contains(t, e.does(url.Values{"do": {"free"}, "box": {"OS"}}), "freed by the owner")
	last, code := tablet.end()
	require.Equal(t, 4009, code)
	require.Contains(t, last.Why, "The owner has freed this box")
	require.Contains(t, e.does(url.Values{"do": {"simulate"}, "box": {"OS"}}), "A simulated signaller, since 15.30")
	for _, nonsense := range []url.Values{{"do": {"free"}, "box": {"UL"}}, {"do": {"explode"}}, {"do": {"free"}, "box": {"XX"}}, {}} {
		answer, words := e.asks(http.MethodPost, "/s/evening/owner", nonsense, nil)
		require.Equal(t, http.StatusConflict, answer.StatusCode)
		require.NotEmpty(t, words)
	}
}
