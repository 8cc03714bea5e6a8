package review_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
	"taillamp/block/review"
)

// F10: an evening is told in at most 300 words from the record alone, and every sentence names entries that are in it: what
// ran, what was late, the best-worked ten minutes, what to try next. The golden day and each day with a seeded fault.
func TestEveningIsToldFromTheRecord(t *testing.T) {
	files, err := filepath.Glob("../../testdata/lathermoor/*.notes")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			n, err := notes.Read(text, nil)
			require.NoError(t, err)
			var entries []block.Entry
			for p := range notes.Run(n) {
				entries = append(entries, p.Entries...)
			}
			known := make(map[uint64]bool)
			for _, e := range entries {
				known[e.Seq] = true
			}
			told := story(t, n.Rules, n.Begins, entries)
			var all []string
			for _, s := range told {
				require.NotEmpty(t, s.Evidence, s.Words)
				for _, seq := range s.Evidence {
					require.True(t, known[seq], "%s: entry %d", s.Words, seq)
				}
				require.Regexp(t, `^[A-Z0-9].*\.$`, s.Words)
				all = append(all, s.Words)
			}
			page := strings.Join(all, " ")
			require.LessOrEqual(t, len(strings.Fields(page)), review.StoryWords)
			if strings.HasPrefix(filepath.Base(file), "golden") {
				require.Contains(t, page, "trains ran")
				require.Contains(t, page, "best-worked ten minutes")
				require.Contains(t, page, "Nothing was found against the regulations.")
				t.Log(page)
			}
		})
	}
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	require.Empty(t, story(t, r, time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC), nil), "of nothing nothing is told")
}

// story reads an evening and tells it.
func story(t *testing.T, r *block.Rules, began time.Time, entries []block.Entry) []review.Sentence {
	t.Helper()
	g, err := register.GraphOf(r, began, register.InOrder(entries))
	require.NoError(t, err)
	var found []review.Finding
	for f, err := range review.Of(r, register.InOrder(entries)) {
		require.NoError(t, err)
		found = append(found, f)
	}
	return review.Story(r, began, entries, g, found)
}
