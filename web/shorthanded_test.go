package web_test

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// C12: the owner's page tells which boxes have no person, which of them a simulated signaller works, and who beside them
// could take two.
func TestOwnerIsToldWhoCouldTakeTwo(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	require.Contains(t, e.page(), "Ullathwick has nobody. No neighbour of it has a person.")
	seat, err := e.live.TakeDuty(t.Context(), ossenwaite, "")
	require.NoError(t, err)
	w, err := e.live.Watch(t.Context(), seat, sitting.Position{})
	require.NoError(t, err)
	defer w.Close()
	page := e.page()
	require.Contains(t, page, "Ullathwick has nobody. Whoever works Ossenwaite")
	require.NotContains(t, page, "Ossenwaite has nobody")
	require.Contains(t, e.does(url.Values{"do": {"simulate"}, "box": {"UL"}}), "Ullathwick is worked by a simulated signaller. Whoever works Ossenwaite")
}
