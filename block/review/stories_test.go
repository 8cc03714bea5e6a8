package review_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
)

// stories are the workings out of course, each as notes: the right working, in which nothing may be found, and the wrong
// acts, each with its rule at the right box. Where the story asks for a line across the page, the box and the beats. Every
// file names its source in its first lines: absolute-block reference 7 and 8.
var stories = []struct {
	id           string
	right, wrong []string
	across       []across
}{
	{"D1 six beats", []string{"cases/W23", "cases/W23b"}, []string{"cases/W23c", "cases/W23d", "cases/W23e", "rules/R58", "rules/R58b"},
		[]across{{"cases/W23", "A", "6"}, {"cases/W23", "B", "6"}}},
	{"D2 no tail lamp", []string{"cases/W13", "cases/W13f", "cases/W14"},
		[]string{"cases/W13b", "cases/W13c", "cases/W13d", "cases/W13e", "cases/W13g", "cases/W14b"},
		[]across{{"cases/W13", "B", "9"}, {"cases/W13", "B", "4-5"}, {"cases/W13", "C", "9"}, {"cases/W13", "A", "4-5"}}},
	{"D3 divided", []string{"cases/W25b"}, []string{"cases/W25", "cases/W25c"}, []across{{"cases/W25b", "A", "5-5"}, {"cases/W25b", "B", "5-5"}}},
	{"D4 running away", []string{"cases/W26", "cases/W26b"}, []string{"cases/W26c", "cases/W26d"},
		[]across{{"cases/W26", "B", "4-5-5"}, {"cases/W26", "C", "4-5-5"}, {"cases/W26b", "A", "2-5-5"}}},
	{"D5 stop and examine", []string{"cases/W24"}, []string{"cases/W24b"}, []across{{"cases/W24", "C", "7"}}},
	{"D6 blocking back", []string{"cases/W04", "cases/W05"}, []string{"cases/W04b", "cases/W05b", "cases/W05c", "rules/R15", "rules/R51"},
		[]across{{"cases/W04", "A", "2-4"}, {"cases/W05", "B", "3-3"}}},
	{"D7 warning arrangement", []string{"cases/W06"}, []string{"cases/W06b", "cases/W10c", "rules/R19", "rules/R21"}, nil},
	{"D8 unusually long", []string{"cases/W27"}, []string{"cases/W27b"}, []across{{"cases/W27", "A", "6-2"}, {"cases/W27", "B", "6-2"}}},
	{"D9 shunt forward", []string{"cases/W07", "cases/W08", "cases/W09"}, []string{"cases/W09b", "rules/R54"},
		[]across{{"cases/W07", "B", "3-3-2"}, {"cases/W07", "C", "8"}}},
	{"D10 assisting engine, trolley", []string{"cases/W22", "cases/W22c", "cases/W10", "cases/W10b", "cases/stop-in-section"},
		[]string{"cases/W22b", "cases/W22d", "cases/W10d", "rules/R37", "rules/TK-10", "rules/TK-10b"}, []across{{"cases/W22", "A", "2-1-3"}}},
	{"D12 an instrument fails", []string{"cases/W29", "methods/OC-ex3"}, []string{"rules/R66", "methods/OC-ex3b"}, nil},
	{"D14 engineers and single-line working", []string{"methods/OC-ex3"}, []string{"rules/OC-08", "rules/OC-09", "rules/OC-09b", "rules/OC-10", "rules/OC-10b"}, nil},
	// The cards of the demo (scenario/lathermoor.md section 7), each worked by the book and each as its card says that it
	// goes wrong.
	{"D15 card C2, hot box", []string{"cases/W24"}, []string{"cases/W24b", "rules/R59"}, []across{{"cases/W24", "C", "7"}}},
	{"D15 card C3, divided train", []string{"cases/W13", "cases/W25b"}, []string{"cases/W13b", "cases/W13d", "cases/W13e", "cases/W25"}, nil},
	{"D15 card C4, token failure", []string{"methods/OC-ex3"}, []string{"methods/OC-ex3b", "rules/OC-08", "rules/OC-09", "rules/TK-01"}, nil},
	{"D15 card C5, engine failure", []string{"cases/W27"}, []string{"cases/W27b", "rules/R13", "rules/R29", "rules/R63"}, nil},
	{"D15 card C6, fog", nil, []string{"rules/FG-01", "rules/R19"}, nil},
	{"B20 cancelling, description, testing", []string{"cases/W20", "cases/W20d", "cases/W09", "cases/W21", "cases/W11", "cases/W29"},
		[]string{"cases/W20b", "cases/W20c", "cases/W21b"}, []across{{"cases/W20", "A", "3-5"}, {"cases/W11", "C", "16"}}},
}

// across is a line across the page of a box's book.
type across struct{ file, box, beats string }

const inTestdata = "../../testdata/"

// D1 to D10, D12, D14, D15 and B20.
func TestStoriesOutOfCourse(t *testing.T) {
	for _, s := range stories {
		t.Run(s.id, func(t *testing.T) {
			for _, file := range s.right {
				asAsked(t, inTestdata+file+".notes")
				r, entries := readFile(t, file)
				require.Empty(t, found(t, r, entries), file)
			}
			for _, file := range s.wrong {
				asAsked(t, inTestdata+file+".notes")
				r, entries := readFile(t, file)
				require.NotEmpty(t, found(t, r, entries), file)
			}
			for _, a := range s.across {
				r, entries := readFile(t, a.file)
				require.True(t, hasAcross(bookOf(t, r, block.BoxID(a.box), entries), a.beats), "%s: %s across the page at %s", a.file, a.beats, a.box)
			}
		})
	}
}

// D1: six beats bar both lines of the section, at once when they are answered, until the 2-1.
func TestSixBeatsBarBothLines(t *testing.T) {
	r, entries := readFile(t, "cases/W23b")
	s := r.Opening(entries[0].Event.At)
	var barred []string
	for _, e := range entries {
		next, _, err := r.Step(s, e.Event)
		require.NoError(t, err)
		s = next
		if e.Event.Do != block.Rung {
			continue
		}
		n := 0
		for _, l := range r.Lines(s) {
			if l.Danger {
				n++
			}
		}
		barred = append(barred, fmt.Sprintf("%s %d", e.Event.At.Format(time.TimeOnly), n))
	}
	require.Contains(t, barred, "17:59:00 0")
	require.Contains(t, barred, "18:00:08 2")
	require.Equal(t, "0", barred[len(barred)-1][9:])
}

func hasAcross(b *register.Book, beats string) bool {
	for _, row := range b.Rows() {
		if row.Kind == register.SignalRow && row.Page == "across" && row.Code.String() == beats {
			return true
		}
	}
	return false
}

// E2, E3, E9, G13: whatever is found in any of those files says box, time and one sentence, rests on acts of the record
// that had happened, tells the right working in words, has one of three severities and the grade of its rule.
func TestEveryFindingOfTheStoriesIsWhole(t *testing.T) {
	seen := make(map[block.Severity]int)
	for _, s := range stories {
		for _, file := range s.wrong {
			r, entries := readFile(t, file)
			last := entries[len(entries)-1].Seq
			for _, f := range found(t, r, entries) {
				rule, ok := block.FindRule(f.Rule)
				require.True(t, ok)
				_, isBox := r.Box(f.Box)
				assert.True(t, isBox, "%s: %s", file, f.Rule)                                                              // E2
				assert.NotEmpty(t, f.Says, "%s: %s", file, f.Rule)                                                         // E2
				assert.NotEmpty(t, f.Cite, "%s: %s", file, f.Rule)                                                         // E2
				assert.Equal(t, rule.Instead, f.Instead, "%s: %s", file, f.Rule)                                           // E3
				assert.NotEmpty(t, f.Instead, "%s: %s", file, f.Rule)                                                      // E3
				assert.NotEmpty(t, f.Evidence, "%s: %s", file, f.Rule)                                                     // E3
				assert.False(t, f.At.IsZero(), "%s: %s", file, f.Rule)                                                     // E2
				assert.Equal(t, rule.Grade, f.Grade, "%s: %s", file, f.Rule)                                               // G13
				assert.Contains(t, []string{"S", "M", "P"}, f.Grade, "%s", file)                                           // G13
				assert.Contains(t, []block.Severity{"told", "irregular", "dangerous"}, f.Severity, "%s: %s", file, f.Rule) // E9
				for _, seq := range f.Evidence {
					assert.True(t, seq >= entries[0].Seq && seq <= last, "%s: %s rests on entry %d of %d", file, f.Rule, seq, last)
				}
				seen[f.Severity]++
			}
		}
	}
	require.Len(t, seen, 3, "the files show each severity")
	for _, rule := range block.AllRules() { // G13: every rule, found here or not
		assert.Contains(t, []string{"S", "M", "P"}, rule.Grade, "%s", rule.ID)
	}
}

// Q12: two circuits of one box with different books. Five beats are a part-braked freight by the letters and cattle in
// coaching stock by the list before them; sources BC-I, BC-E, reference 3.3 and 3.5.
func TestEachCircuitHasItsOwnBook(t *testing.T) {
	n, err := notes.Read([]byte(`# reference 3.3 and 3.5
boxes A B C
book 1960-letters
10:00:00  B rings A 1
10:00:03  A rings B 1
10:00:06  B rings A 5
10:00:09  A rings B 5
10:00:12  A turns B clear
10:01:00  B rings C 1
10:01:03  C rings B 1
10:01:06  B rings C 5
10:01:09  C rings B 5
10:01:12  C turns B clear
`), nil)
	require.NoError(t, err)
	l := *n.Rules.Layout()
	l.Between = append([]block.Between(nil), l.Between...)
	l.Between[1].Book = "clearing-house"
	n.Rules, err = block.NewRules(&l, nil, nil)
	require.NoError(t, err)
	books := make(map[block.BoxID]string)
	keys := make(map[block.CircuitID]block.CodeKey)
	var entries []block.Entry
	for p := range notes.Run(n) {
		require.Equal(t, "done", p.Ending, p.Text)
		entries = append(entries, p.Entries...)
		for _, e := range p.Entries {
			for _, c := range e.Outcome.Changes {
				if c.Signal != nil && c.Signal.Did == block.Offered {
					keys[c.Signal.Circuit] = c.Signal.Key
				}
			}
		}
	}
	for _, c := range n.Rules.Circuits() {
		code, ok := c.Book.Key(keys[c.ID])
		require.True(t, ok, "%s understood five beats", c.ID)
		require.Equal(t, "5", code.Beats.String())
		books[c.Boxes[0]] = code.Means
	}
	require.Contains(t, books["A"], "freight")
	require.Contains(t, books["B"], "livestock")
	require.NotContains(t, books["B"], "freight")
	require.Empty(t, found(t, n.Rules, entries))
}
