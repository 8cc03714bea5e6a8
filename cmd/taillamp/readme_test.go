package main

import (
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// fenced gives the text of the README's only block of a language.
func fenced(t *testing.T, readme, language string) string {
	t.Helper()
	m := regexp.MustCompile("(?s)```"+language+"\n(.*?)```").FindAllStringSubmatch(readme, -1)
	require.Len(t, m, 1, "blocks of %s", language)
	return m[0][1]
}

// The layout that the README shows is one that the program takes, and says nothing against (A2, A5).
func TestTheLayoutOfTheReadmeIsSound(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	dir := t.TempDir()
	file := filepath.Join(dir, "line.toml")
	require.NoError(t, os.WriteFile(file, []byte(fenced(t, string(text), "toml")), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "trains.csv"), []byte(fenced(t, string(text), "csv")), 0o644))
	var out, complaint strings.Builder
	require.Equal(t, exitGood, run(t.Context(), []string{"check", file}, stdio{Out: &out, Err: &complaint}), out.String()+complaint.String())
	require.NotContains(t, out.String(), "warning")
	require.Contains(t, out.String(), "Our own line: 2 boxes, 3 lines, 2 trains")
}

// The safety words stand in the README (A14), its pictures are there, and every word in its table is one that
// the program has.
func TestTheReadmeSaysWhatTheProgramDoes(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	readme := strings.Join(strings.Fields(string(text)), " ")
	require.Contains(t, readme, "must never be the only protection of anything")
	require.Contains(t, readme, "local rules and licensed practice come first")
	pictures := regexp.MustCompile(`!\[[^\]]+\]\(([^)]+)\)`).FindAllStringSubmatch(string(text), -1)
	require.NotEmpty(t, pictures)
	for _, m := range pictures {
		require.FileExists(t, filepath.Join("../..", filepath.FromSlash(m[1])))
	}
	named := regexp.MustCompile("(?m)^\\| `taillamp ([a-z]+)").FindAllStringSubmatch(string(text), -1)
	require.Greater(t, len(named), 5)
	for _, m := range named {
		require.Equal(t, exitGood, run(t.Context(), []string{"help", m[1]}, stdio{Out: io.Discard, Err: io.Discard}), m[1])
	}
}
