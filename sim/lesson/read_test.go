package lesson_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim/lesson"
)

const good = `no = 99
title = "A title"
teaches = "One thing."
notice = ["Do it."]
district = "pair"
box = "OS"
mine = ["attention"]
rules = ["R03"]
mistake = { rule = "R03" }
[[want]]
what = "calls-answered"
count = 1
within = 10
words = "calls answered"
[[train]]
code = "3-1"
about = "stopping passenger"
calls = ["UL 10.01", "OS 10.03"]
`

// A lesson that cannot be worked is refused in one sentence that says where and what.
func TestBadLessons(t *testing.T) {
	_, err := lesson.Read([]byte(good))
	require.NoError(t, err)
	for _, c := range []struct{ from, to, says string }{
		{`title = "A title"`, `titel = "A title"`, "line 2: a lesson has nothing called titel"},
		{`no = 99`, `no = "x"`, "line 1: "},
		{`district = "pair"`, `district = "moon"`, `there is no line called "moon"`},
		{`box = "OS"`, `box = "QU"`, `"QU" is no box of pair`},
		{`mine = ["attention"]`, `mine = ["attenton"]`, `no hand is called "attenton"`},
		{`rules = ["R03"]`, `rules = ["R99"]`, "no rule is called R99"},
		{`mistake = { rule = "R03" }`, `mistake = { }`, "name a rule that is broken"},
		{`what = "calls-answered"`, `what = "tricks"`, `nothing is known of "tricks"`},
		{`count = 1`, `count = 0`, "say how often"},
		{`"UL 10.01", `, ``, "train 1: a train has two calls at least"},
		{`"UL 10.01"`, `"UL"`, "train 1: write a call as"},
	} {
		text := replaced(t, good, c.from, c.to)
		_, err := lesson.Read([]byte(text))
		require.ErrorContains(t, err, c.says)
		require.NotContains(t, err.Error(), "\n", "one sentence")
	}
}

// There are fifteen of them, numbered without a gap; every rule that one names has words, source and grade (G13), and
// each teaches another idea.
func TestTheLadder(t *testing.T) {
	all := lessons(t)
	require.Len(t, all, 15)
	ideas := make(map[string]bool)
	for n, l := range all {
		require.Equal(t, n+1, l.No)
		require.False(t, ideas[l.Teaches], l.Title)
		ideas[l.Teaches] = true
		for _, id := range l.Rules {
			r, ok := block.FindRule(id)
			require.True(t, ok, "%s: %s", l.Title, id)
			require.NotEmpty(t, r.Grade)
		}
	}
	_, err := lesson.Find(16)
	require.ErrorContains(t, err, "there are 1 to 15")
}

func FuzzLesson(f *testing.F) {
	f.Add([]byte(good))
	f.Fuzz(func(t *testing.T, text []byte) {
		if l, err := lesson.Read(text); err == nil {
			_, err := l.Header().Rules()
			require.NoError(t, err)
		}
	})
}
