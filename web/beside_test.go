package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// E7: the page of two books has every pair of neighbours, shows what one book alone has as lacking in the other, and
// refuses two boxes that are no neighbours in words.
func TestTwoBooksPage(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	ul, err := s.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os, err := s.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	act := func(seat sitting.Seat, e block.Event) {
		_, err := s.live.Act(t.Context(), seat, 0, e)
		require.NoError(t, err)
	}
	circuit := s.live.Rules().Circuits()[0].ID
	for _, c := range s.live.Rules().Circuits() {
		if c.Boxes == [2]block.BoxID{"UL", "OS"} {
			circuit = c.ID
		}
	}
	act(ul, block.Event{Do: block.Rung, Circuit: circuit, Beats: block.Beats{1}})
	act(os, block.Event{Do: block.Rung, Circuit: circuit, Beats: block.Beats{1}})
	act(ul, block.Event{Do: block.Rung, Circuit: circuit, Beats: block.Beats{4}})
	answer, page := s.get("/s/evening/beside?a=UL&b=OS")
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Contains(t, page, "<b>UL</b>")
	require.Contains(t, page, "<b>OS</b>")
	require.NotContains(t, page, "irregular")
	answer, page = s.get("/s/evening/beside?a=UL&b=UL")
	require.Equal(t, http.StatusNotFound, answer.StatusCode)
	require.Contains(t, page, "no neighbours")
	answer, _ = s.get("/s/evening/beside")
	require.Equal(t, http.StatusOK, answer.StatusCode)
}
