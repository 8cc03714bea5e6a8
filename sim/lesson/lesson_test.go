package lesson_test

import (
	"fmt"
	"iter"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
	"taillamp/sim/lesson"
)

func lessons(t *testing.T) []*lesson.Lesson {
	t.Helper()
	all, err := lesson.All()
	require.NoError(t, err)
	return all
}

// worked is a lesson worked by simulated signallers, the learner's box too.
func worked(t *testing.T, l *lesson.Lesson, r *block.Rules, o sim.Options, speed float64) []block.Entry {
	t.Helper()
	o.Begins = l.Begins(time.Date(1960, 6, 1, 0, 0, 0, 0, time.UTC))
	o.Speed = speed // trains keep the district's clock, people and bells their own
	midnight := time.Date(1960, 6, 1, 0, 0, 0, 0, time.UTC)
	o.Booked = func(sec int) time.Time {
		since := midnight.Add(time.Duration(sec) * time.Second).Sub(o.Begins)
		return o.Begins.Add(time.Duration(float64(since) / o.Speed))
	}
	o.Helps, o.Most = nil, 2*time.Hour
	quick := sim.Brisk // the learner minds nothing but his bells
	quick.Answer, quick.Act = sim.Spread{Median: 1500 * time.Millisecond, P90: 2 * time.Second}, sim.Spread{Median: 2 * time.Second, P90: 3 * time.Second}
	o.Box = map[block.BoxID]sim.Temper{l.Box: quick}
	var entries []block.Entry
	for e, err := range sim.Day(r, o) {
		require.NoError(t, err)
		entries = append(entries, e)
	}
	return entries
}

func seq(entries []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
}

func replaced(t *testing.T, text, from, to string) string {
	t.Helper()
	require.Contains(t, text, from)
	return strings.Replace(text, from, to, 1)
}

func judged(t *testing.T, l *lesson.Lesson, entries []block.Entry) lesson.Verdict {
	t.Helper()
	v, err := l.Judge(l.Begins(time.Date(1960, 6, 1, 0, 0, 0, 0, time.UTC)), seq(entries))
	require.NoError(t, err)
	return v
}

// G4: every lesson is passed by a signaller who works by the book, whatever his luck.
func TestEveryLessonIsPassedByTheBook(t *testing.T) {
	for _, l := range lessons(t) {
		t.Run(l.Title, func(t *testing.T) {
			for seed := range uint64(8) {
				r, err := l.Header().Rules()
				require.NoError(t, err)
				o := l.Options()
				o.Seed = seed
				v := judged(t, l, worked(t, l, r, o, r.Layout().Clock.Speed)) // as a sitting of it goes
				require.True(t, v.Passed, "seed %d: %+v", seed, v)
				require.True(t, v.Over)
			}
		})
	}
}

// G4: and failed by one who makes the very mistake that the lesson is about.
func TestEveryLessonIsFailedByItsMistake(t *testing.T) {
	for _, l := range lessons(t) {
		t.Run(l.Title, func(t *testing.T) {
			made := 0
			for seed := uint64(0); seed < 100 && made < 3; seed++ {
				h := l.Header()
				o := l.Options()
				o.Seed = seed
				erred, when := true, time.Time{}
				switch m := l.Mistake; {
				case m.Miscounts:
					h.Layout = strings.Replace(h.Layout, "roads = 3", "roads = 9", 1)
				case m.Leaves != "":
					o.Leaves = func(box block.BoxID, a block.Advice) bool { return box == l.Box && l.HandOf(a) == m.Leaves }
				default:
					erred = false
					o.Bends = func(*block.Rules) []sim.Bend {
						b, ok := sim.Mistake(m.Rule)
						require.True(t, ok)
						if seed%2 == 0 {
							b.Box = l.Box // else of him to whom somebody else's moment brings it
						}
						b.Made = func(box block.BoxID, at time.Time) { erred, when = box == l.Box, at }
						return []sim.Bend{b}
					}
				}
				r, err := h.Rules()
				require.NoError(t, err)
				entries := worked(t, l, r, o, 1) // trains slow enough for every mistake to find its moment
				v := judged(t, l, entries)
				if !erred || v.Over && when.After(v.At) || l.Mistake.Rule != "" && !found(t, r, entries, l.Mistake.Rule, l.Box) {
					continue // not made; or when the lesson was over; or put right by what the lesson asks
				}
				made++
				require.False(t, v.Passed, "seed %d: %+v", seed, v)
			}
			require.Equal(t, 3, made, "the mistake was made")
		})
	}
}

// found tells whether the review finds a rule broken by a box.
func found(t *testing.T, r *block.Rules, entries []block.Entry, rule block.RuleID, box block.BoxID) bool {
	t.Helper()
	for f, err := range review.Of(r, seq(entries)) {
		require.NoError(t, err)
		if f.Rule == rule && f.Box == box {
			return true
		}
	}
	return false
}

// C1: a guest is at work in under ten minutes. What he has to read before the first lesson is read in half a minute, at 200
// words a minute (common practice, no source); and with no more in his hands than lessons 1 to 4 teach, slow as a guest is,
// he works nine trains of ten without a finding.
func TestGuestIsAtWorkSoon(t *testing.T) {
	first := lessons(t)[0]
	words := len(strings.Fields(first.Title + " " + first.Teaches + " " + strings.Join(first.Notice, " ")))
	require.LessOrEqual(t, words, 100, "words to read before the first bell")

	fourth := lessons(t)[3]
	trains, faulty := 0, make(map[string]bool)
	for seed := range uint64(10) {
		r, err := fourth.Header().Rules()
		require.NoError(t, err)
		o := fourth.Options()
		o.Seed, o.Temper = seed, sim.Slow
		entries := worked(t, fourth, r, o, r.Layout().Clock.Speed)
		trains += len(r.Timetable().Workings)
		for f, err := range review.Of(r, seq(entries)) {
			require.NoError(t, err)
			if f.Box == fourth.Box && f.Severity != block.Tell {
				faulty[fmt.Sprint(seed, f.At)] = true
			}
		}
	}
	require.LessOrEqual(t, 10*len(faulty), trains, "%d trains, %d with a finding", trains, len(faulty))
}
