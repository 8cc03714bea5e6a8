package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// L5: what was said by telephone is read again afterwards, step by step, with who said it.
func TestCallsAreReadAgain(t *testing.T) {
	e := serveOwner(t)
	ul, err := e.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os, err := e.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	_, err = e.live.Act(t.Context(), ul, 1, block.Event{Do: block.Call, Circuit: "UL-OS"})
	require.NoError(t, err)
	_, err = e.live.Act(t.Context(), os, 1, block.Event{Do: block.Call, Circuit: "UL-OS"})
	require.NoError(t, err)
	a, err := e.live.Act(t.Context(), ul, 2, block.Event{Do: block.Call, Circuit: "UL-OS", Words: "fog here"})
	require.NoError(t, err)
	_, page := e.asks(http.MethodGet, "/s/evening/moment?entry="+string(rune('0'+a.Seq)), nil, nil)
	require.Contains(t, page, "Ullathwick by telephone: “fog here”")
}
