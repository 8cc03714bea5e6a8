package review_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// E3: what correct working would have been is notes that can be played without a finding: every rule that is checked
// has them.
func TestRightWorkingIsRight(t *testing.T) {
	played := make(map[string]bool)
	for _, r := range block.AllRules() {
		text, ok := r.RightWorking()
		require.Equal(t, r.Checked != "never", ok, "%s: %s", r.ID, r.Right)
		if !ok || played[r.Right] {
			continue
		}
		played[r.Right] = true
		t.Run(r.Right, func(t *testing.T) {
			n, err := notes.Read([]byte(text), nil)
			require.NoError(t, err)
			var entries []block.Entry
			for p := range notes.Run(n) {
				require.Equal(t, "done", p.Ending, "%s: %s", p.Says, p.Why)
				entries = append(entries, p.Entries...)
			}
			require.NotEmpty(t, entries)
			for f, err := range review.Of(n.Rules, all(entries)) {
				require.NoError(t, err)
				t.Errorf("%s at %s: %s", f.Rule, f.Box, f.Says)
			}
		})
	}
	require.GreaterOrEqual(t, len(played), 20)
}
