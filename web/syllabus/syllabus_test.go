package syllabus_test

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/web/syllabus"
)

var began = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)

// H4: of each lesson the last three tries that ended are kept, in order, and at most one that was not ended, whatever the
// learner does; what was never ended pushes out nothing.
func TestLastThreeTriesOfEachLesson(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := syllabus.InMemory()
		id := syllabus.IDOf("KEY")
		open := map[int]time.Time{}
		ended := map[int][]syllabus.Try{}
		for n := range rapid.IntRange(0, 60).Draw(t, "acts") {
			lesson, at := rapid.IntRange(1, 4).Draw(t, "lesson"), began.Add(time.Duration(n)*time.Minute)
			if rapid.Bool().Draw(t, "begins") {
				require.NoError(t, k.Begin(id, lesson, at))
				open[lesson] = at
				continue
			}
			try := syllabus.Try{Lesson: lesson, Began: open[lesson], Ended: at, Shown: n%2 == 0, Said: []string{"Well done."}}
			err := k.End(id, try)
			if open[lesson].IsZero() {
				require.ErrorIs(t, err, syllabus.ErrNoSheet)
				continue
			}
			require.NoError(t, err)
			require.ErrorIs(t, k.End(id, try), syllabus.ErrNoSheet, "it ends once")
			delete(open, lesson)
			ended[lesson] = append(ended[lesson], try)
		}
		s, _ := k.Of(id)
		for lesson := 1; lesson <= 4; lesson++ {
			last := ended[lesson]
			require.Equal(t, last[max(0, len(last)-3):], append([]syllabus.Try(nil), s.Of(lesson, true)...))
			unended := 0
			if !open[lesson].IsZero() {
				unended = 1
			}
			require.Len(t, s.Of(lesson, false), len(s.Of(lesson, true))+unended)
		}
	})
}

// H4: sheets are there after a stop; forgotten, nothing of one is left in the folder; and no key is written anywhere.
func TestSheetsAreKeptUntilForgotten(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "learners")
	k, err := syllabus.Open(dir)
	require.NoError(t, err)
	anna, ben := syllabus.IDOf("ANNASKEY"), syllabus.IDOf("BENSKEY")
	require.NoError(t, k.Begin(anna, 1, began))
	require.NoError(t, k.End(anna, syllabus.Try{Lesson: 1, Began: began, Ended: began.Add(time.Minute), Shown: true, Said: []string{"Well done."}}))
	require.NoError(t, k.Name(anna, "Anna"))
	require.NoError(t, k.Begin(ben, 2, began.Add(time.Hour)))
	require.ErrorIs(t, k.Name(ben, strings.Repeat("x", 41)), syllabus.ErrLongName)
	require.ErrorIs(t, k.Name(syllabus.IDOf("NOBODY"), "x"), syllabus.ErrNoSheet)

	k, err = syllabus.Open(dir)
	require.NoError(t, err)
	all := k.All()
	require.Len(t, all, 2)
	require.Equal(t, ben, all[0].ID, "who was last at it stands first")
	require.Equal(t, "Anna", all[1].Name)
	require.Equal(t, []string{"Well done."}, all[1].Of(1, true)[0].Said)
	require.NotContains(t, folder(t, dir), "ANNASKEY")

	require.NoError(t, k.Forget(anna))
	require.ErrorIs(t, k.Forget(anna), syllabus.ErrNoSheet)
	require.NotContains(t, folder(t, dir), "Anna")
	k, err = syllabus.Open(dir)
	require.NoError(t, err)
	_, has := k.Of(anna)
	require.False(t, has)
	require.Len(t, k.All(), 1)
}

// An identity that is none names no file, wherever it points.
func TestForgottenIsNothingElse(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "learners")
	k, err := syllabus.Open(dir)
	require.NoError(t, err)
	require.NoError(t, k.Begin(syllabus.IDOf("KEY"), 1, began))
	record := filepath.Join(dir, "..", "evening.jsonl")
	require.NoError(t, os.WriteFile(record, nil, 0o600))
	for _, id := range []syllabus.ID{"", "*", "../evening", "../*", syllabus.ID(strings.Repeat("?", 32))} {
		require.ErrorIs(t, k.Forget(id), syllabus.ErrNoSheet)
	}
	require.FileExists(t, record)
	require.Len(t, k.All(), 1)
}

// folder is all that stands in a folder, names and texts.
func folder(t *testing.T, dir string) string {
	t.Helper()
	var all strings.Builder
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		require.NoError(t, err)
		all.WriteString(f.Name() + "\n" + string(text))
	}
	return all.String()
}

// A damaged sheet is told in a sentence, put aside as it is, and spoils no other; what a killed program left half written is
// swept away.
func TestDamagedSheetIsPutAside(t *testing.T) {
	dir := t.TempDir()
	k, err := syllabus.Open(dir)
	require.NoError(t, err)
	good, torn := syllabus.IDOf("GOOD"), syllabus.IDOf("TORN")
	require.NoError(t, k.Begin(good, 1, began))
	require.NoError(t, k.Begin(torn, 1, began))
	path := filepath.Join(dir, string(torn)+".json")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	for cut := range len(text) - 2 { // without its last bracket it is none
		require.NoError(t, os.WriteFile(path, text[:cut], 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "new-17"), text, 0o600))
		k, err = syllabus.Open(dir)
		require.ErrorContains(t, err, path+" is no learner's sheet")
		require.NoFileExists(t, filepath.Join(dir, "new-17"))
		name := regexp.MustCompile(`put aside as (\S+)`).FindStringSubmatch(err.Error())
		require.NotNil(t, name)
		aside, err := os.ReadFile(filepath.Join(dir, name[1]))
		require.NoError(t, err)
		require.Equal(t, string(text[:cut]), string(aside))
		_, has := k.Of(good)
		require.True(t, has)
		require.Len(t, k.All(), 1)
	}
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, files, len(text)-2+1, "none of those put aside is lost, and the good one is there")
	require.NoError(t, k.Begin(torn, 2, began), "its learner begins another")
	require.NoError(t, k.Forget(torn))
	files, err = os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, files, 1, "forgotten, nothing of it is left, not even what was put aside")
}

// Where the disk does not take a sheet all is as it was, and a sentence says so.
func TestSheetThatCannotBeKept(t *testing.T) {
	file := filepath.Join(t.TempDir(), "learners")
	require.NoError(t, os.WriteFile(file, nil, 0o600)) // no folder can be made there
	_, err := syllabus.Open(file)
	require.ErrorContains(t, err, "read the learners' sheets")

	dir := filepath.Join(t.TempDir(), "learners")
	k, err := syllabus.Open(dir)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir, nil, 0o600))
	id := syllabus.IDOf("KEY")
	require.ErrorContains(t, k.Begin(id, 1, began), "keep a learner's sheet")
	_, has := k.Of(id)
	require.False(t, has)
}

// A visitor who means no good fills no disk: a thousand sheets, and no more.
func TestSoManySheetsAndNoMore(t *testing.T) {
	k := syllabus.InMemory()
	n := 0
	for ; n < 2000; n++ {
		if err := k.Begin(syllabus.IDOf(string(rune('a'+n))), 1, began); err != nil {
			require.True(t, errors.Is(err, syllabus.ErrFull))
			break
		}
	}
	require.Equal(t, 1000, n)
	require.NoError(t, k.Begin(syllabus.IDOf("a"), 2, began), "who has one goes on")
}
