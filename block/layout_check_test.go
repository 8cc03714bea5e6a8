package block_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A double line with a yard at each end, four boxes and a token branch takes no more than 80 lines and is accepted
// without a warning (A2). What it leaves out is worked out or has a default.
func TestADistrictTakesEightyLines(t *testing.T) {
	text, err := os.ReadFile("testdata/own/district.toml")
	require.NoError(t, err)
	assert.LessOrEqual(t, strings.Count(string(text), "\n"), 80)
	l, err := block.ReadLayout(text)
	require.NoError(t, err)
	flaws, warnings := l.Check()
	assert.Empty(t, flaws)
	assert.Empty(t, warnings)

	require.Len(t, l.Boxes, 6)
	at := make(map[block.BoxID]block.Yards)
	for _, b := range l.Boxes {
		at[b.ID] = b.At
	}
	assert.Equal(t, map[block.BoxID]block.Yards{"SK": 0, "UL": 4400, "OS": 9680, "QU": 13200, "HX": 19360, "TO": 16720}, at)
	// A quarter of a mile unless ordered otherwise: absolute-block reference, section 2, "clearing point" [S: DEF, SB-3].
	assert.Equal(t, block.Yards(440), l.Boxes[2].Clearing)
	assert.Equal(t, block.Yards(300), l.Boxes[3].Clearing)
	branch := l.Between[4].Lines[0]
	assert.Equal(t, "both", branch.Way)
	assert.Equal(t, map[block.BoxID]int{"OS": 5, "TO": 5}, branch.Tokens)

	r, err := block.Header{Format: 1, Layout: string(text), Books: block.BookTexts(l)}.Rules()
	require.NoError(t, err)
	assert.Len(t, r.Circuits(), 6) // five pairs of bells, and UL out of the way: SK with OS
}

// Every default is written out by Text, and what is written reads as the same layout.
func TestALayoutReadsAsItIsWritten(t *testing.T) {
	for _, name := range block.LayoutNames() {
		texts, err := block.EmbeddedLayout(name)
		require.NoError(t, err)
		l, err := block.ReadLayout([]byte(texts.Layout))
		require.NoError(t, err)
		again, err := block.ReadLayout(l.Text())
		require.NoError(t, err, string(l.Text()))
		assert.Equal(t, l.Boxes, again.Boxes, name)
		assert.Equal(t, l.Between, again.Between, name)
		assert.Equal(t, l.Settings, again.Settings, name)
		assert.Equal(t, l.Clock, again.Clock, name)
	}
}

// risky reads a layout, and the warnings about it and its sequence.
func risky(t *testing.T, layout, trains string) []string {
	t.Helper()
	l, err := block.ReadLayout([]byte(layout))
	require.NoError(t, err)
	flaws, warnings := l.Check()
	require.Empty(t, flaws)
	if trains != "" {
		day, err := block.ReadTimetable([]byte(trains), nil)
		require.NoError(t, err)
		more, roads := l.CheckSequence(day, nil)
		require.Empty(t, more)
		warnings = append(warnings, roads...)
	}
	var says []string
	for _, w := range warnings {
		assert.Positive(t, w.Line, w.What)
		assert.NotEmpty(t, w.Field, w.What)
		assert.NotEmpty(t, w.Right, w.What)
		says = append(says, w.Field+": "+w.What)
	}
	return says
}

const threeBoxes = `format = 1
[[box]]
id = "A"
[[box]]
id = "B"
[[box]]
id = "C"
`

// Each risk gives one warning, and its remedy gives none (A4).
func TestWhatIsRiskyGivesOneWarning(t *testing.T) {
	for _, c := range []struct{ name, layout, trains, warning string }{
		{
			name: "section shorter than the clearing point behind it",
			layout: threeBoxes + `[[between]]
boxes = ["A", "B"]
yards = 3000
[[between]]
boxes = ["B", "C"]
yards = 400
`,
			warning: "between[1].yards: the clearing point of B lies 40 yards inside the home signal of C",
		}, {
			name: "the same, with a shorter clearing point",
			layout: strings.Replace(threeBoxes, `"B"`, "\"B\"\nclearing = 400", 1) + `[[between]]
boxes = ["A", "B"]
yards = 3000
[[between]]
boxes = ["B", "C"]
yards = 400
`,
		}, {
			// Where the demo's two close stations lie: "the clearing point of MI ends 60 yards inside Tolverbeck's station
			// limits" (scenario, section 1).
			name: "home signals count",
			layout: `format = 1
[[box]]
id = "OS"
[[box]]
id = "MI"
home = 150
roads = 2
accepts = "clearing"
[[box]]
id = "TO"
home = 240
accepts = "buffer"
[[between]]
boxes = ["OS", "MI"]
yards = 6570
method = "token"
[[between]]
boxes = ["MI", "TO"]
yards = 470
method = "token"
`,
			warning: "between[1].yards: the clearing point of MI lies 60 yards inside the home signal of TO",
		}, {
			name: "block post on a single line without a loop",
			layout: threeBoxes + `[[between]]
boxes = ["A", "B"]
yards = 3000
method = "token"
[[between]]
boxes = ["B", "C"]
yards = 3000
method = "token"
`,
			warning: "box[1].id: B is a block post on a single line without a loop: trains could be accepted toward it from both sides",
		}, {
			name: "the same with a loop of two roads",
			layout: strings.Replace(threeBoxes, `"B"`, "\"B\"\nroads = 2", 1) + `[[between]]
boxes = ["A", "B"]
yards = 3000
method = "token"
[[between]]
boxes = ["B", "C"]
yards = 3000
method = "token"
`,
		}, {
			name: "a yard with too few roads",
			layout: strings.Replace(threeBoxes, `"C"`, "\"C\"\nroads = 2", 1) + `[[between]]
boxes = ["A", "B"]
yards = 3000
[[between]]
boxes = ["B", "C"]
yards = 3000
`,
			trains:  "train,class,from,to\n1,A,A,C\n2,B,A,C\n3,K,A,C\n",
			warning: "box[2].roads: C has 2 roads, and 3 trains stand there when train 3 has come",
		}, {
			name: "the same, one leaving before the third comes",
			layout: strings.Replace(threeBoxes, `"C"`, "\"C\"\nroads = 2", 1) + `[[between]]
boxes = ["A", "B"]
yards = 3000
[[between]]
boxes = ["B", "C"]
yards = 3000
`,
			trains: "train,class,from,to,stock_of\n1,A,A,C,\n2,B,A,C,\n4,B,C,A,1\n3,K,A,C,\n",
		}, {
			name: "two like-sounding bells on one shelf",
			layout: threeBoxes + `[[between]]
boxes = ["A", "B"]
yards = 3000
hears = { B = "coil" }
[[between]]
boxes = ["B", "C"]
yards = 3000
hears = { B = "coil" }
`,
			warning: "between[1].hears.B: at B the bells from A and C both sound as coil",
		}, {
			name: "one voice at two boxes",
			layout: threeBoxes + `[[between]]
boxes = ["A", "B"]
yards = 3000
hears = { A = "coil", B = "tube" }
[[between]]
boxes = ["B", "C"]
yards = 3000
hears = { B = "coil", C = "tube" }
`,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := risky(t, c.layout, c.trains)
			if c.warning == "" {
				assert.Empty(t, got)
				return
			}
			assert.Equal(t, []string{c.warning}, got)
		})
	}
}
