package register_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// penned are the entries of a signaller who writes the scenario's own register of a box by hand, each time half a minute
// after it: the golden register made by the scenario's means, not by the fold. change alters, or with "" leaves out, what
// stands in a line, counted from the first train's, and column.
func penned(t *testing.T, box block.BoxID, began time.Time, change map[string]string, late map[string]time.Duration) []block.Entry {
	t.Helper()
	text, err := os.ReadFile("../../testdata/lathermoor/golden-register-" + string(box) + ".csv")
	require.NoError(t, err)
	rows := table(t, text)
	at := func(column string) int { return slices.Index(rows[0], column) }
	var entries []block.Entry
	seq := uint64(1_000_000) // behind whatever the day itself has
	add := func(e block.Event) uint64 {
		seq++
		e.Do, e.By = block.Remark, box
		entries = append(entries, block.Entry{Seq: seq, Event: e})
		return seq
	}
	line := 0
	for _, row := range rows[1:] {
		page := block.Place(strings.ToLower(row[at("page")]))
		if row[at("offered_ahead")] == "" && row[at("offered_from_rear")] == "" || page != register.BeginsDown && page != register.BeginsUp {
			continue
		}
		line++
		id := add(block.Event{Where: page, Words: row[at("code")], At: began})
		for c := register.OfferedFromRear; c <= register.OutReceived; c++ {
			words := row[at(c.Name())]
			key := fmt.Sprintf("%d %s", line, c.Name())
			if w, is := change[key]; is {
				words = w
			}
			if words == "" {
				continue
			}
			halves, err := register.ReadTime(words)
			require.NoError(t, err, key)
			y, m, d := began.Date()
			when := time.Date(y, m, d, 0, 0, halves*30+30, 0, began.Location()).Add(late[key])
			add(block.Event{Where: block.Place(c.Name()), Line: id, Words: words, At: when})
		}
	}
	return entries
}

// B13: the register of the golden day written by hand as the scenario's own register has it agrees with the one that wrote
// itself in every cell; an entry left out, one with a wrong time and one written late are found, each in its place, and
// nothing besides.
func TestRegisterByHandBesideTheOther(t *testing.T) {
	n, day := played(t, goldenDay)
	marks := func(box block.BoxID, entries []block.Entry) (wrong map[string]string, right int) {
		book, hand := register.NewBook(n.Rules, box, n.Begins), register.NewHand(n.Rules, box, n.Begins)
		for _, e := range slices.Concat(day, entries) {
			book.Write(e)
			hand.Write(e)
		}
		wrong = map[string]string{}
		for _, x := range register.BesideHand(book, hand) {
			for c := register.OfferedFromRear; c <= register.OutReceived; c++ {
				switch m := x.Marks[c]; {
				case len(m) == 1 && m[0] == register.Right:
					right++
				case len(m) > 0 && (x.Own == nil || x.Own.Page == "Down" || x.Own.Page == "Up"):
					line := 0
					for i, l := range hand.Lines() {
						if l == x.Hand {
							line = i + 1
						}
					}
					wrong[fmt.Sprintf("%d %s", line, c.Name())] = fmt.Sprint(m)
				}
			}
		}
		return wrong, right
	}
	for _, box := range []block.BoxID{"UL", "SK", "OS", "HX"} {
		wrong, right := marks(box, penned(t, box, n.Begins, nil, nil))
		assert.Empty(t, wrong, "%s", box)
		assert.Greater(t, right, 70, "%s", box)
	}
	wrong, _ := marks("UL", penned(t, "UL", n.Begins,
		map[string]string{"2 out_of_section_received": "", "3 accepted": "3.14"},
		map[string]time.Duration{"4 offered_from_rear": 5 * time.Minute}))
	assert.Equal(t, map[string]string{"2 out_of_section_received": "[missing]", "3 accepted": "[wrong]", "4 offered_from_rear": "[late]"}, wrong)

	whole := penned(t, "UL", n.Begins, nil, nil) // the second line is ruled through whole: all its train has is missing
	second := slices.IndexFunc(whole[1:], func(e block.Entry) bool { return e.Event.Line == 0 }) + 1
	wrong, _ = marks("UL", append(whole, block.Entry{Seq: 2_000_000, Event: block.Event{Do: block.Slip, By: "UL", Line: whole[second].Seq}}))
	assert.NotEmpty(t, wrong)
	for key, m := range wrong {
		assert.True(t, strings.HasPrefix(key, "0 ") && m == "[missing]", "%s %s", key, m)
	}
}

// A time is read as it is written, and what is no time is refused.
func TestWrittenTimesAreRead(t *testing.T) {
	for words, want := range map[string]string{"16.04½": "16.04½", "16.04 1/2": "16.04½", "7:05": "7.05", "23 59": "23.59", "24.00": "", "4": "", "16.60": "", "": ""} {
		halves, err := register.ReadTime(words)
		if want == "" {
			assert.Error(t, err, words)
			continue
		}
		require.NoError(t, err, words)
		want, err := register.ReadTime(want)
		require.NoError(t, err)
		assert.Equal(t, want, halves, words)
		again, err := register.ReadTime(register.WriteTime(halves))
		require.NoError(t, err)
		assert.Equal(t, halves, again, words)
	}
}
