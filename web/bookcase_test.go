package web_test

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// F9: the kept sittings stand in a case with their date, layout, length, findings and, where they were given, names; one is
// found by a train, a box, a code or a name, and taken away as one file that opens again; two stand beside each other.
func TestBookcase(t *testing.T) {
	keeper, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	clock := sitting.NewHandClock(time.Date(2026, 11, 26, 20, 0, 0, 0, time.UTC))
	host := sitting.NewHost(keeper, clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	evening := func(name, who string, code block.Beats, wrong bool) *sitting.Live {
		live, err := host.Open(t.Context(), name, h)
		require.NoError(t, err)
		ul, err := live.TakeDuty(t.Context(), "UL", who)
		require.NoError(t, err)
		_, err = live.Act(t.Context(), ul, 1, block.Event{Do: block.Rung, Circuit: "UL-OS", Beats: code})
		require.NoError(t, err)
		if wrong {
			_, err = live.Act(t.Context(), ul, 2, block.Event{Do: block.Train, Section: "UL-OS Down Main", Where: block.Leaves, Train: "77"})
			require.NoError(t, err)
		}
		clock.Move(90 * time.Minute)
		_, err = live.Act(t.Context(), ul, 3, block.Event{Do: block.Remark, Words: "tea"})
		require.NoError(t, err)
		require.NoError(t, live.End(t.Context()))
		return live
	}
	evening("first", "Ada Porter", block.Beats{4}, true)
	evening("second", "", block.Beats{3, 1}, false)
	now, err := host.Open(t.Context(), "tonight", h)
	require.NoError(t, err)
	s := &served{t: t, host: host, live: now, http: httptest.NewServer(web.New(web.Config{Live: now, Kept: keeper}))}
	t.Cleanup(s.http.Close)
	t.Cleanup(func() { _ = host.Close(t.Context()) })

	_, page := s.get("/bookcase")
	for _, words := range []string{"first", "second", "tonight", "1 h 30 min", "Ullathwick (Ada Porter)", "not ended", "Thursday 26 November 2026"} {
		require.Contains(t, page, words)
	}
	for asked, want := range map[string][2]bool{"porter": {true, false}, "3-1": {false, true}, "77": {true, false}, "UL": {true, true}, "nobody": {false, false}} {
		_, page := s.get("/bookcase?find=" + asked)
		for n, name := range []string{"first", "second"} {
			if want[n] {
				require.Contains(t, page, `value="`+name+`"`, asked)
			} else {
				require.NotContains(t, page, `value="`+name+`"`, asked)
			}
		}
	}
	_, page = s.get("/bookcase?with=first&with=second")
	require.Contains(t, page, `src="/bookcase/first.svg"`)
	require.Contains(t, page, `src="/bookcase/second.svg"`)

	answer, text := s.get("/bookcase/first.jsonl")
	require.Equal(t, http.StatusOK, answer.StatusCode)
	again, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	require.NoError(t, writeFile(again.Path("first"), []byte(text)))
	glance, err := again.Look(t.Context(), "first")
	require.NoError(t, err)
	require.True(t, glance.Over)
	answer, text = s.get("/bookcase/first.svg")
	require.Equal(t, "image/svg+xml", answer.Header.Get("Content-Type"))
	require.Contains(t, text, "</svg>")
	for _, path := range []string{"/bookcase/..%2Ffirst.jsonl", "/bookcase/none.jsonl", "/bookcase/first.exe"} {
		answer, _ := s.get(path)
		require.Equal(t, http.StatusNotFound, answer.StatusCode, path)
	}
}
