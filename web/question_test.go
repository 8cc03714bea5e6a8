package web_test

import (
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// H6: a notes script written on the sheet is answered line by line: done, refused, irregular, with the rule and its source;
// as a worksheet the answers are left out. What cannot be read is said in one sentence with its line. Source of the case:
// absolute-block reference, worked examples 8, as in testdata/cases.
func TestQuestionOnPaper(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	ask := func(notes, answers string) (int, string) {
		answer, err := http.PostForm(s.http.URL+"/question", url.Values{"notes": {notes}, "answers": {answers}})
		require.NoError(t, err)
		text, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		return answer.StatusCode, string(text)
	}
	before, _ := s.live.Snapshot()
	text, err := os.ReadFile("../testdata/cases/W30.notes")
	require.NoError(t, err)
	status, page := ask(string(text), "yes")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "<b>refused</b>: The signal is locked: it has been pulled once for this line clear.")
	text, err = os.ReadFile("../testdata/rules/R38.notes")
	require.NoError(t, err)
	_, page = ask(string(text), "yes")
	require.Contains(t, page, "<b>R38</b>")
	require.Contains(t, page, "from a printed source")
	_, sheet := ask(string(text), "no")
	require.Contains(t, sheet, "Worksheet")
	require.NotContains(t, sheet, "R38</b>")
	require.Less(t, strings.Count(sheet, "irregular"), 1)

	_, page = ask("boxes A B\n10:00:00  A rigns B 1\n", "yes")
	require.Contains(t, page, "Line 2: ")
	status, _ = ask(strings.Repeat("x", 70<<10), "yes")
	require.Equal(t, http.StatusBadRequest, status)
	status, _ = ask("", "yes")
	require.Equal(t, http.StatusBadRequest, status)
	after, _ := s.live.Snapshot()
	require.Equal(t, before, after, "no sitting is touched")
}
