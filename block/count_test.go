package block_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// asked is a file of notes and the findings that its first lines require and allow.
type asked struct {
	name         string
	notes        *notes.Notes
	require, may []string
}

func readAsked(t *testing.T, dirs ...string) []asked {
	t.Helper()
	var all []asked
	for _, dir := range dirs {
		files, err := filepath.Glob(filepath.Join("..", "testdata", dir, "*.notes"))
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			a := asked{name: filepath.Base(file)}
			for line := range strings.Lines(string(text)) {
				if list, ok := strings.CutPrefix(line, "# require:"); ok {
					a.require = split(list, ";")
				} else if list, ok := strings.CutPrefix(line, "# may:"); ok {
					a.may = split(list, ";")
				}
			}
			a.notes, err = notes.Read(text, nil)
			require.NoError(t, err, file)
			all = append(all, a)
		}
	}
	return all
}

// holds tells whether the file gives what it asks for with one check switched off; where is what of it: by the act, or
// by the reviewer afterwards.
func (a asked) holds(t *testing.T, off block.Rule) bool {
	t.Helper()
	n := *a.notes
	if off.Checked == "act" {
		n.Rules = block.Ignoring(a.notes.Rules, off.ID)
	}
	var entries []block.Entry
	for p := range notes.Run(&n) {
		entries = append(entries, p.Entries...)
	}
	var found []string
	for f, err := range review.Of(n.Rules, each(entries)) {
		require.NoError(t, err)
		if off.Checked == "later" && f.Rule == off.ID {
			continue
		}
		found = append(found, fmt.Sprintf("%s %s %s", f.Rule, f.Box, f.Severity))
	}
	for _, f := range a.require {
		if !slices.Contains(found, f) {
			return false
		}
	}
	return !slices.ContainsFunc(found, func(f string) bool { return !slices.Contains(a.require, f) && !slices.Contains(a.may, f) })
}

// Every check counts: with the check of a rule switched off, some file of testdata/rules or testdata/cases no longer
// gives what it asks for; with none switched off, every file does. A rule that the reviewer finds is switched off by
// dropping what he finds.
func TestEveryCheckCounts(t *testing.T) {
	files := readAsked(t, "rules", "cases")
	for _, a := range files {
		assert.True(t, a.holds(t, block.Rule{}), "%s does not give what it asks for", a.name)
	}
	counted := 0
	for _, r := range block.AllRules() {
		if r.Checked == "never" || slices.Contains([]string{"terminus"}, r.Family) {
			continue
		}
		counted++
		missed := ""
		for _, a := range files {
			about := slices.ContainsFunc(a.require, func(f string) bool { return strings.HasPrefix(f, string(r.ID)+" ") })
			if about && !a.holds(t, r) {
				missed = a.name
				break
			}
		}
		assert.NotEmpty(t, missed, "%s %s may be switched off and nobody sees it", r.ID, r.Name)
	}
	t.Logf("%d checks switched off one by one, over %d files", counted, len(files))
}
