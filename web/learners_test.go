package web_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/web/syllabus"
)

// learner is a browser that keeps the key of a sheet.
type learner struct {
	e   *ownersEvening
	key *http.Cookie
}

func (l *learner) asks(method, path string, fields url.Values) (*http.Response, string) {
	l.e.t.Helper()
	answer, text := l.e.asks(method, path, fields, func(r *http.Request) {
		if l.key != nil {
			r.AddCookie(l.key)
		}
	})
	for _, c := range answer.Cookies() {
		if c.Name == "learner" {
			require.True(l.e.t, c.HttpOnly)
			if l.key = c; c.MaxAge < 0 {
				l.key = nil
			}
		}
	}
	return answer, text
}

func (l *learner) does(fields url.Values) int {
	l.e.t.Helper()
	answer, _ := l.asks(http.MethodPost, "/lessons/sheet", fields)
	return answer.StatusCode
}

func (l *learner) ladder() string {
	l.e.t.Helper()
	_, text := l.asks(http.MethodGet, "/lessons", nil)
	return text
}

// H4, Q8: a sheet is seen by its learner and by whoever has the owner's key, and by nobody else; it wants no name, and a
// name is written as it was given; put away it is there for who types its key; forgotten it is nowhere.
func TestSheetIsSeenByItsLearnerAndTheInstructor(t *testing.T) {
	e := serveOwner(t)
	anna, ben := &learner{e: e}, &learner{e: e}
	require.Contains(t, anna.ladder(), "It begins with your first lesson")
	for _, l := range []*learner{anna, ben} {
		answer, _ := l.asks(http.MethodPost, "/lessons/1", nil)
		require.Equal(t, http.StatusOK, answer.StatusCode)
		require.NotNil(t, l.key)
	}
	require.NotEqual(t, anna.key.Value, ben.key.Value)
	require.Equal(t, http.StatusSeeOther, anna.does(url.Values{"do": {"name"}, "name": {" <b>Anna</b> "}}))
	mine := anna.ladder()
	require.Contains(t, mine, "The sheet of &lt;b&gt;Anna&lt;/b&gt;")
	require.Contains(t, mine, "begun, and not ended")
	require.Contains(t, mine, anna.key.Value)
	for who, sees := range map[string]string{"another learner": ben.ladder(), "a stranger": (&learner{e: e}).ladder()} {
		require.NotContains(t, sees, "Anna", who)
		require.NotContains(t, sees, anna.key.Value, who)
	}
	require.Contains(t, ben.ladder(), "begun, and not ended", "he needs no name")

	answer, text := e.asks(http.MethodGet, "/s/evening/owner/learners", nil, nil)
	require.Equal(t, http.StatusForbidden, answer.StatusCode)
	require.NotContains(t, text, "Anna")
	forget := url.Values{"learner": {string(syllabus.IDOf(plain(anna.key.Value)))}}
	answer, _ = e.asks(http.MethodPost, "/s/evening/owner/learners", forget, nil)
	require.Equal(t, http.StatusForbidden, answer.StatusCode)

	require.Equal(t, http.StatusSeeOther, ben.does(url.Values{"do": {"away"}}))
	require.Nil(t, ben.key)
	require.Equal(t, http.StatusSeeOther, ben.does(url.Values{"do": {"take"}, "key": {anna.key.Value}}))
	require.Contains(t, ben.ladder(), "Anna", "who has the key has the sheet")

	e.enters()
	_, text = e.asks(http.MethodGet, "/s/evening/owner/learners", nil, nil)
	require.Contains(t, text, "&lt;b&gt;Anna&lt;/b&gt;")
	require.Contains(t, text, "A learner without a name")
	require.NotContains(t, text, anna.key.Value, "nor has the instructor a learner's key")
	answer, _ = e.asks(http.MethodPost, "/s/evening/owner/learners", forget, nil)
	require.Equal(t, http.StatusSeeOther, answer.StatusCode)
	require.Contains(t, anna.ladder(), "It begins with your first lesson")
	require.Equal(t, http.StatusNotFound, anna.does(url.Values{"do": {"name"}, "name": {"Anna"}}))
	answer, _ = e.asks(http.MethodPost, "/s/evening/owner/learners", forget, nil)
	require.Equal(t, http.StatusNotFound, answer.StatusCode)
	require.NotContains(t, e.log.String(), "Anna")
}

// plain is a key as it is compared.
func plain(key string) string {
	var p []rune
	for _, c := range key {
		if c != '-' {
			p = append(p, c)
		}
	}
	return string(p)
}

// H4: nobody comes by another's sheet by trying keys, and what makes no sense is refused in words.
func TestNobodyGuessesASheet(t *testing.T) {
	e := serveOwner(t)
	require.NoError(t, e.sheets.Begin(syllabus.IDOf("RIGHTKEY"), 1, e.clock.Now()))
	l := &learner{e: e}
	for range 10 {
		require.Equal(t, http.StatusForbidden, l.does(url.Values{"do": {"take"}, "key": {"WRONG-KEY"}}))
	}
	require.Equal(t, http.StatusTooManyRequests, l.does(url.Values{"do": {"take"}, "key": {"RIGHT-KEY"}}))
	e.clock.Move(time.Minute)
	require.Equal(t, http.StatusSeeOther, l.does(url.Values{"do": {"take"}, "key": {"right key"}}))
	require.Equal(t, http.StatusBadRequest, l.does(url.Values{"do": {"tear up"}}))
	require.Equal(t, http.StatusBadRequest, l.does(url.Values{"do": {"name"}, "name": {"a name of forty-one letters, which is one too many"}}))
}

// H4, G5: how each of the last three tries ended stands under its lesson with the day, and no mark.
func TestSheetTellsTheLastThreeTries(t *testing.T) {
	e := serveOwner(t)
	id := syllabus.IDOf("KEY")
	for n := range 4 {
		at := e.clock.Now().Add(time.Duration(n) * 24 * time.Hour)
		require.NoError(t, e.sheets.Begin(id, 3, at))
		require.NoError(t, e.sheets.End(id, syllabus.Try{Lesson: 3, Began: at, Ended: at, Shown: n == 3, Said: []string{"Said at the end."}}))
	}
	l := &learner{e: e, key: &http.Cookie{Name: "learner", Value: "KEY"}}
	ladder := l.ladder()
	require.NotContains(t, ladder, "14 March 2026, 19.30")
	require.Regexp(t, `15 March 2026, 19\.30</time> <b>not yet</b> Said at the end\.(?s:.*)17 March 2026, 19\.30</time> <b class="shown">shown</b>`, ladder)
}
