package web_test

import (
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// E2: a finding leads to the line of the book that it is about, and the cell is there to be led to.
func TestFindingLeadsToItsLine(t *testing.T) {
	e := open(t, "tiny", nil)
	seat, err := e.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	other, err := e.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	act := func(s sitting.Seat, ev block.Event) {
		t.Helper()
		_, err := e.live.Act(t.Context(), s, 0, ev)
		require.NoError(t, err)
	}
	const line = block.SectionID("UL-OS Down Main")
	act(other, block.Event{Do: block.Train, Section: line, Where: block.Leaves, Train: "4"}) // R29: sent with nothing accepted
	act(seat, block.Event{Do: block.Remark, Words: "a train came unannounced"})
	read := func(path string) string {
		t.Helper()
		r, err := http.Get(strings.Replace(e.at, shed, "127.0.0.1", 1) + path)
		require.NoError(t, err)
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		return string(text)
	}
	findings := read("/s/demo/findings")
	m := regexp.MustCompile(`/s/demo/book/UL(\?entry=\d+)#(at-\d+)"`).FindStringSubmatch(findings)
	require.Len(t, m, 3, findings)
	require.Contains(t, read("/s/demo/book/UL"+m[1]), `id="`+m[2]+`"`)
}

// F10, F5, E10: the evening is told while it is still going on, each sentence with a way to what it rests on, and the
// answers of each box lie on a strip in line order.
func TestEveningIsToldWhileItGoesOn(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	answer, page := s.get("/s/evening/evening")
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Contains(t, page, "The evening told")
	for _, never := range []string{"score", "rank", "best signaller"} {
		require.NotContains(t, page, never)
	}
}
