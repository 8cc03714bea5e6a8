package block_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

const badFiles = "testdata/bad"

// flawsOf reads a broken file as what it is meant to be, and gives all that is wrong with it.
func flawsOf(t *testing.T, name string) block.Flaws {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(badFiles, name))
	require.NoError(t, err)
	switch {
	case strings.HasSuffix(name, ".toml"):
		_, err = block.ReadLayout(text)
	case strings.HasSuffix(name, ".book"):
		_, err = block.ReadCodeBook(text)
	default:
		err = readSequence(t, name, text)
	}
	var flaws block.Flaws
	require.True(t, errors.As(err, &flaws), "%s: %v", name, err)
	return flaws.In(name)
}

// readSequence reads trains, or times of the tiny layout's trains, and holds them against that layout.
func readSequence(t *testing.T, name string, text []byte) error {
	t.Helper()
	tiny, err := block.EmbeddedLayout("tiny")
	require.NoError(t, err)
	l, err := block.ReadLayout([]byte(tiny.Layout))
	require.NoError(t, err)
	trains, times := text, []byte(nil)
	if strings.HasSuffix(name, ".times.csv") {
		trains, times = []byte(tiny.Trains), text
	}
	day, err := block.ReadTimetable(trains, times)
	var flaws block.Flaws
	errors.As(err, &flaws)
	more, _ := l.CheckSequence(day, nil)
	return append(flaws, more...)
}

// Twenty broken layouts, ten broken books and as many sequences: each fault has its line, what is wrong and what would
// be right, and all faults of a file come in one run (A3, A5). Rewrite the messages with -rewrite and read them.
func TestBrokenFilesAreExplained(t *testing.T) {
	datadriven.RunTest(t, filepath.Join(badFiles, "messages"), func(t *testing.T, d *datadriven.TestData) string {
		var file string
		d.ScanArgs(t, "file", &file)
		return flawsOf(t, file).Error()
	})
}

// No message lacks its line, its field, what is wrong or what would be right (A3).
func TestEveryMessageSaysWhereWhatAndWhatIsRight(t *testing.T) {
	counts := make(map[string]int)
	golden, err := os.ReadFile(filepath.Join(badFiles, "messages"))
	require.NoError(t, err)
	files, err := os.ReadDir(badFiles)
	require.NoError(t, err)
	for _, f := range files {
		if f.Name() == "messages" {
			continue
		}
		counts[filepath.Ext(f.Name())]++
		assert.Contains(t, string(golden), "file="+f.Name()+"\n", "%s has its golden messages", f.Name())
		lines := strings.Count(read(t, filepath.Join(badFiles, f.Name())), "\n")
		flaws := flawsOf(t, f.Name())
		assert.NotEmpty(t, flaws, f.Name())
		for _, flaw := range flaws {
			assert.True(t, flaw.Line >= 1 && flaw.Line <= max(1, lines), "%s: line %d", flaw, flaw.Line)
			assert.NotEmpty(t, flaw.Field, "%s: field", flaw)
			assert.NotEmpty(t, flaw.What, "%s: what is wrong", flaw)
			assert.NotEmpty(t, flaw.Right, "%s: what would be right", flaw)
		}
	}
	assert.GreaterOrEqual(t, counts[".toml"], 20, "broken layouts")
	assert.GreaterOrEqual(t, counts[".book"], 10, "broken books")
	assert.GreaterOrEqual(t, counts[".csv"], 10, "broken sequences")
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	return string(text)
}
