package review_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// C4: advice is no rule. Every worked example of right working in the reference, each legal variation among them (a needle
// before the repetition, a second call, silence kept), is played while advice is asked for before each act; wherever the
// hand does something else than was advised, nothing is said against it.
func TestOtherwiseThanAdvisedIsNoFinding(t *testing.T) {
	files, err := filepath.Glob("../../testdata/cases/*.notes")
	require.NoError(t, err)
	examples, asked, otherwise := 0, 0, 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		want := wantOf(t, string(text))
		if len(want.require) > 0 || len(want.may) > 0 || len(want.refused) > 0 {
			continue
		}
		examples++
		n, err := notes.Read(text, nil)
		require.NoError(t, err)
		state := n.Rules.Opening(n.Begins)
		var entries []block.Entry
		for p := range notes.Run(n) {
			for _, e := range p.Entries {
				if e.Event.Do == block.Rung || e.Event.Do == block.Turn {
					v := n.Rules.View(state, e.Event.By)
					v.At = e.Event.At
					if advice := n.Rules.Next(v); len(advice) > 0 {
						asked++
						a := advice[0].Event(e.Event.By)
						if a.Do != e.Event.Do || a.Show != e.Event.Show || !a.Beats.Equal(e.Event.Beats) {
							otherwise++
						}
					}
				}
			}
			entries = append(entries, p.Entries...)
			state = p.State
		}
		for f, err := range review.Of(n.Rules, all(entries)) {
			require.NoError(t, err)
			t.Errorf("%s: %s at %s: %s", file, f.Rule, f.Box, f.Says)
		}
	}
	require.GreaterOrEqual(t, examples, 20)
	require.GreaterOrEqual(t, otherwise, 10, "the hand always did as advised: the test looks at nothing")
	t.Logf("%d examples of right working; advised %d times, done otherwise %d times", examples, asked, otherwise)
}
