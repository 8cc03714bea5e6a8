package block_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// includes says which tables of the reference make up a book besides its own.
var includes = map[string][]string{
	"1960-letters":   {"1960-letters", "common", "methods"},
	"1962-numbers":   {"1962-numbers", "common", "methods"},
	"1969-numbers":   {"1969-numbers", "common", "methods"},
	"clearing-house": {"clearing-house", "common", "methods"},
	"1990-rules":     {"1990-rules", "1969-numbers", "common", "methods"},
}

// replaced are the common signals of which a book has a line of its own: ballast trains stopped in section under 1-2-2
// before the letters, and the latest books read 2-6-1 and the runaways otherwise.
var replaced = map[string][]string{
	"clearing-house": {"stop-in-section", "trolley"},
	"1990-rules":     {"load-1", "runaway-right", "runaway-wrong"},
}

// Every line of the five books is one of the reference's tables, and every line of the tables is in its books: code,
// class, direction, call attention, answer, regulation, source and grade. The tables, absolute-block reference 3.2 to
// 3.5 and other-methods reference 1.1 and 5.2, are copied in testdata.
func TestBooksAreTheTablesOfTheReference(t *testing.T) {
	rows := readSheet(t, "testdata/reference/codes.csv")
	for _, name := range block.BookNames() {
		book, err := block.FindCodeBook(name)
		require.NoError(t, err)
		var met []block.CodeKey
		for _, row := range rows {
			if !slices.Contains(includes[name], row["book"]) || slices.Contains(replaced[name], row["key"]) {
				continue
			}
			beats, err := block.ParseBeats(row["code"])
			require.NoError(t, err)
			at := slices.IndexFunc(book.Codes, func(c block.Code) bool {
				return c.Beats.Equal(beats) && !slices.Contains(met, c.Key) && (row["key"] == "" || row["key"] == string(c.Key)) &&
					c.Class == row["class"] && string(c.Bearing) == row["bearing"]
			})
			if !assert.GreaterOrEqual(t, at, 0, "%s: no line for %s %s %s", name, row["code"], row["key"], row["bearing"]) {
				continue
			}
			c := book.Codes[at]
			met = append(met, c.Key)
			where := name + " " + string(c.Key)
			assert.Equal(t, row["attention"] == "yes", c.Attention, "%s: call attention", where)
			assert.Equal(t, row["answer"], c.Answer, "%s: answer", where)
			assert.Equal(t, row["grade"], c.Grade, "%s: grade", where)
			for key := range strings.FieldsSeq(row["cite"]) {
				assert.Contains(t, c.Cite, key, "%s: source", where)
			}
			for reg := range strings.FieldsSeq(row["regulation"]) {
				assert.Contains(t, c.Regulation, reg, "%s: regulation", where)
			}
		}
		for _, c := range book.Codes {
			assert.Contains(t, met, c.Key, "%s: a line that no table of the reference has", name)
		}
	}
}

// ownBook is a book as an owner writes one for his branch: the common signals, and classes of its own.
const ownBook = `name    = "our-branch"
title   = "Classes of our branch"
include = ["common"]

[[source]]
key         = "NOTICE"
publication = "the branch's own printed notice"

[[code]]
key        = "mixed"
beats      = "1-3"
means      = "mixed train"
class      = "M"
train      = true
passengers = true
cite       = "NOTICE"
grade      = "S"

[[code]]
key        = "pier"
beats      = "2-3-2"
means      = "propelled to the pier"
class      = "P"
train      = true
freight    = true
conditions = "set the protecting points first"
cite       = "common practice, no source"
grade      = "P"
`

// A book of one's own is a file of the same form, checked the same way, and reads as it is written out for the record.
func TestABookOfOnesOwn(t *testing.T) {
	b, err := block.ReadCodeBook([]byte(ownBook))
	require.NoError(t, err)
	assert.Equal(t, "our-branch", b.Name)
	beats, err := block.ParseBeats("2-3-2")
	require.NoError(t, err)
	codes := b.Find(beats, block.EitherWay)
	require.Len(t, codes, 1)
	assert.Equal(t, "set the protecting points first", codes[0].Conditions)
	assert.True(t, codes[0].Attention, "call attention comes first unless the book says otherwise")
	assert.Equal(t, "repeat", codes[0].Answer)
	_, ok := b.Key("out-of-section")
	assert.True(t, ok, "what it includes is in it")

	again, err := block.ReadCodeBook(b.Text())
	require.NoError(t, err)
	assert.Equal(t, b.Codes, again.Codes)
	assert.Equal(t, b.Sources, again.Sources)
	for _, name := range block.BookNames() {
		b, err := block.FindCodeBook(name)
		require.NoError(t, err)
		again, err := block.ReadCodeBook(b.Text())
		require.NoError(t, err, name)
		assert.Equal(t, b.Codes, again.Codes, name)
	}
}

// The book belongs to the circuit, not to the box (absolute-block reference, 3.2: a fringe box may use one book to the
// left and another to the right [S: RMB]; W16: 5 is a class D freight in letters, cattle in coaching stock before
// them). Here Ullathwick rings 5 to Ossenwaite, and so does Quarnaby; the third pair has a book of its own.
func TestTwoCircuitsOfOneBoxMayUseDifferentBooks(t *testing.T) {
	const layout = `format = 1
[[box]]
id = "UL"
staffed = true
[[box]]
id = "OS"
staffed = true
[[box]]
id = "QU"
staffed = true
[[box]]
id = "TO"
staffed = true
roads = 2
[[between]]
boxes = ["UL", "OS"]
yards = 5720
[[between]]
boxes = ["OS", "QU"]
yards = 2640
book = "clearing-house"
[[between]]
boxes = ["OS", "TO"]
yards = 7040
book = "our-branch.toml"
`
	r, err := block.Header{Format: 1, Layout: layout, Books: map[string]string{"our-branch.toml": ownBook}}.Rules()
	require.NoError(t, err)
	start := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	state := r.Opening(start)
	rings := func(after int, by block.BoxID, circuit block.CircuitID, code string) []block.CodeKey {
		beats, err := block.ParseBeats(code)
		require.NoError(t, err)
		next, out, err := r.Step(state, block.Event{Do: block.Rung, At: start.Add(time.Duration(after) * time.Second), By: by, Circuit: circuit, Beats: beats})
		require.NoError(t, err)
		state = next
		for _, c := range out.Changes {
			if c.Code != nil {
				return c.Code.Keys
			}
		}
		return nil
	}
	assert.Equal(t, []block.CodeKey{"express-freight-third"}, rings(10, "UL", "UL-OS", "5"))
	assert.Equal(t, []block.CodeKey{"perishables-coaching"}, rings(20, "QU", "OS-QU", "5"))
	assert.Empty(t, rings(30, "TO", "OS-TO", "5"))
	assert.Equal(t, []block.CodeKey{"pier"}, rings(40, "TO", "OS-TO", "2-3-2"))
}
