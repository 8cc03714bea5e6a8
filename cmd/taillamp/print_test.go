package main

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// said runs the program and gives what it printed.
func said(t *testing.T, args ...string) string {
	t.Helper()
	var out, complaint strings.Builder
	require.Equal(t, exitGood, run(t.Context(), args, stdio{Out: &out, Err: &complaint}), "%s", complaint.String())
	require.Empty(t, complaint.String())
	return out.String()
}

func noWider(t *testing.T, text string, width int) {
	t.Helper()
	require.NotEmpty(t, text)
	for line := range strings.Lines(text) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
			t.Errorf("%d columns wide, the most is %d: %s", n, width, line)
		}
	}
}

// Codes and rules are printed at 80 columns, and each line carries source and grade (Q11).
func TestCodesAndRulesFitEightyColumns(t *testing.T) {
	cited := func(t *testing.T, lines string) {
		for line := range strings.Lines(lines) {
			var row struct{ Cite, Grade string }
			require.NoError(t, json.Unmarshal([]byte(line), &row))
			require.NotEmpty(t, row.Cite, line)
			require.Contains(t, []string{"S", "M", "P"}, row.Grade, line)
		}
	}
	for _, book := range block.BookNames() {
		t.Run(book, func(t *testing.T) {
			noWider(t, said(t, "codes", "--book", book), 80)
			cited(t, said(t, "codes", "--book", book, "--json"))
		})
	}
	t.Run("rules", func(t *testing.T) {
		noWider(t, said(t, "rules"), 80)
		cited(t, said(t, "rules", "--json"))
	})
}

// The demo day's books, six boxes and four hours, are ruled to a hundred columns, and each says what it is not (Q14).
func TestTheDemoDayFitsAHundredColumns(t *testing.T) {
	dir := t.TempDir()
	said(t, "play", "../../testdata/lathermoor/golden.notes", "--out", dir)
	books := said(t, "register", dir+"/golden.jsonl")
	noWider(t, books, 100)
	require.Equal(t, 7, strings.Count(books, "never the only protection of anything"))
	require.False(t, strings.Contains(books, "continued"), "no page of it is too wide")
	require.True(t, strings.Contains(books, "      token in 18.56½\n"), "what has no room beside the rest stands below its line (train 23 at OS)")
	noWider(t, said(t, "review", dir+"/golden.jsonl"), 100)
}

// A line with everything in it is wider than a sheet and goes on below, with the train named again.
func TestAWidePageGoesOnBelow(t *testing.T) {
	row := make([]string, len(columns()))
	for i := range row {
		row[i] = "16.04½"
	}
	page := draw("Down", [][]string{row}, []string{"a remark"})
	noWider(t, strings.Join(page, "\n"), 100)
	require.Contains(t, page, "Down, continued")
	require.Equal(t, "token", columns()[firstToken].group)
	require.NotEqual(t, "token", columns()[firstToken-1].group)
	require.Equal(t, len(columns())+leading, strings.Count(strings.Join(page, "\n"), "16.04½"), "nothing is lost")
}
