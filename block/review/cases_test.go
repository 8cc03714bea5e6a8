package review_test

import (
	"fmt"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// The worked cases of the regulations, each with its source in its own first lines. Above the facts stand what must be
// found, what may be found besides, what the apparatus must refuse and how the needles stand at the end.
func TestCases(t *testing.T) {
	files, err := filepath.Glob("../../testdata/cases/*.notes")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".notes"), func(t *testing.T) { asAsked(t, file) })
	}
}

// Every worked example of absolute-block reference 8 is played, and every publication that a case names is in the list.
func TestEveryWorkedExampleIsPlayed(t *testing.T) {
	count := make(map[string]int)
	files, err := filepath.Glob("../../testdata/cases/*.notes")
	require.NoError(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, key := range casesCite(string(text)) {
			_, known := block.FindSource(key)
			require.True(t, known, "%s cites %s, which is not in the list of publications", file, key)
			count[key]++
		}
	}
	for _, from := range [][2]int{{1, 18}, {20, 31}, {40, 46}} { // the examples of 8.1, 8.2 and 8.3
		for n := from[0]; n <= from[1]; n++ {
			require.FileExists(t, fmt.Sprintf("../../testdata/cases/W%02d.notes", n))
		}
	}
	keys := slices.Sorted(maps.Keys(count))
	for _, key := range keys {
		t.Logf("%-5s %d cases", key, count[key])
	}
	t.Logf("%d cases, %d publications", len(files), len(keys))
}

// casesCite gives the keys of the publications behind a case: "S:SB-5, SB-7; times P".
func casesCite(text string) []string {
	_, line, _ := strings.Cut(text, "# source:")
	line, _, _ = strings.Cut(line, "\n")
	var keys []string
	for part := range strings.SplitSeq(line, ";") {
		_, list, found := strings.Cut(part, "S:")
		if !found {
			continue
		}
		for item := range strings.SplitSeq(list, ",") {
			if f := strings.Fields(item); len(f) > 0 && f[0][0] >= 'A' && f[0] == strings.ToUpper(f[0]) {
				keys = append(keys, f[0])
			}
		}
	}
	return keys
}

// asAsked plays a file of notes and holds what comes of it against what its first lines ask for.
func asAsked(t *testing.T, file string) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	want := wantOf(t, string(text))
	n, err := notes.Read(text, nil)
	require.NoError(t, err)
	state := n.Rules.Opening(n.Begins)
	var refused []string
	var entries []block.Entry
	for p := range notes.Run(n) {
		require.NotEqual(t, "impossible", p.Ending, "line %d: %s", p.Line, p.Why)
		if p.Ending == "refused" {
			refused = append(refused, p.Text)
		}
		entries = append(entries, p.Entries...)
		state = p.State
	}
	require.Equal(t, want.refused, refused)
	for _, l := range n.Rules.Lines(state) {
		if shows, ok := want.end[string(l.Section.Rear+" "+l.Section.Advance)]; ok {
			require.Equal(t, shows, l.Shows, "needle from %s to %s", l.Section.Rear, l.Section.Advance)
		}
	}
	found := findings(t, n.Rules, entries)
	for _, f := range want.require {
		require.Contains(t, found, f)
	}
	for _, f := range found {
		if !slices.Contains(want.require, f) && !slices.Contains(want.may, f) {
			t.Errorf("found %s, which nobody asked for", f)
		}
	}
}

// findings are a reviewer's findings as the cases write them: rule, box, severity.
func findings(t *testing.T, r *block.Rules, entries []block.Entry) []string {
	t.Helper()
	found := []string{}
	for f, err := range review.Of(r, all(entries)) {
		require.NoError(t, err)
		found = append(found, fmt.Sprintf("%s %s %s", f.Rule, f.Box, f.Severity))
	}
	return found
}

func all(entries []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
}

// wanted is what a case's first lines ask for.
type wanted struct {
	require, may, refused []string
	end                   map[string]block.Aspect // "A B": the needle of the line from A to B
}

func wantOf(t *testing.T, text string) wanted {
	t.Helper()
	w := wanted{end: make(map[string]block.Aspect)}
	source := false
	for line := range strings.Lines(text) {
		key, value, _ := strings.Cut(strings.TrimSpace(line), ":")
		parts := split(value)
		switch key {
		case "# source":
			source = len(parts) > 0
		case "# require":
			w.require = parts
		case "# may":
			w.may = parts
		case "# refused-lines":
			w.refused = parts
		case "# end":
			for _, p := range parts {
				f := strings.Fields(p)
				require.Len(t, f, 3)
				w.end[f[0]+" "+f[1]] = block.Aspect(f[2])
			}
		}
	}
	require.True(t, source, "a case names its source")
	return w
}

func split(list string) []string {
	var parts []string
	for p := range strings.SplitSeq(list, ";") {
		if p = strings.TrimSpace(p); p != "" {
			parts = append(parts, p)
		}
	}
	return parts
}
