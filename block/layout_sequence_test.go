package block_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// The layouts that come with the program have neither flaws nor risks, and their sequences fit (A2, A5).
func TestEmbeddedLayoutsAreSound(t *testing.T) {
	for name, trains := range map[string]int{"lathermoor": 24, "tiny": 10} {
		texts, err := block.EmbeddedLayout(name)
		require.NoError(t, err)
		l, err := block.ReadLayout([]byte(texts.Layout))
		require.NoError(t, err, name)
		flaws, warnings := l.Check()
		assert.Empty(t, flaws, name)
		assert.Empty(t, warnings, name)
		day, err := block.ReadTimetable([]byte(texts.Trains), []byte(texts.Times))
		require.NoError(t, err, name)
		assert.Len(t, day.Workings, trains, name)
		flaws, warnings = l.CheckSequence(day, nil)
		assert.Empty(t, flaws, name)
		assert.Empty(t, warnings, name)
	}
}

// The layout of the demo says what its description says of every box and every section, in a file of the form that
// owners use (A2). How much slower freight climbs stands in the running times of the timetable.
func TestTheDemoIsAsItsDescriptionSays(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	l := r.Layout()
	reaches := map[string]string{"a free road": "road", "clearing point": "clearing", "buffer stop": "buffer",
		"loop starter (special instruction) or, variant, the full quarter mile": "starter"}
	boxes := readSheet(t, "testdata/reference/lathermoor-boxes.csv")
	require.Len(t, l.Boxes, len(boxes))
	for _, row := range boxes {
		b, ok := r.Box(block.BoxID(row["box"]))
		require.True(t, ok, row["box"])
		assert.Equal(t, row["name"], b.Name)
		assert.Equal(t, yards(t, row["yards"]), b.At, "%s: place", b.ID)
		assert.Equal(t, yards(t, row["home_yd"]), b.Home, "%s: home", b.ID)
		assert.Equal(t, yards(t, row["starter_yd"]), b.Starter, "%s: starter", b.ID)
		assert.Equal(t, row["closing_switch"] == "yes", b.Switch, "%s: closing switch", b.ID)
		assert.Equal(t, yards(t, row["roads"]), block.Yards(b.Roads), "%s: roads", b.ID)
		assert.Equal(t, reaches[row["accept_to"]], b.Accepts, "%s: accepts to", b.ID)
		if b.Accepts == "clearing" {
			assert.Equal(t, yards(t, row["clearing_point_yd"]), b.Clearing, "%s: clearing point", b.ID)
		}
	}

	out := map[string]string{"QU switched out": "QU out", "UL switched out": "UL out", "MI switched out": "MI out"}
	met := 0
	for _, row := range readSheet(t, "testdata/reference/lathermoor-sections.csv") {
		from, to := block.BoxID(row["from"]), block.BoxID(row["to"])
		way := map[string]string{"Down": "down", "Up": "up"}[row["direction"]]
		if way == "" {
			way = "both"
		}
		if way == "up" {
			from, to = to, from
		}
		for _, b := range l.Between {
			if b.Boxes[0] != from || b.Boxes[1] != to {
				continue
			}
			for _, x := range b.Lines {
				if x.Name != row["line"] {
					continue
				}
				met++
				assert.Equal(t, way, x.Way, row["section"])
				assert.Equal(t, row["method"], x.Method, row["section"])
				assert.Equal(t, yards(t, row["length_yd"]), b.Yards, row["section"])
				assert.Equal(t, yards(t, row["line_speed_mph"]), block.Yards(x.MPH), row["section"])
				assert.Equal(t, yards(t, row["capacity"]), block.Yards(x.Capacity), row["section"])
				assert.Equal(t, out[row["in_use"]], b.While, row["section"])
			}
		}
	}
	assert.Equal(t, 16, met, "sections of the description that the layout has")
}

// yards reads a whole number of a description; an empty cell is 0.
func yards(t *testing.T, cell string) block.Yards {
	t.Helper()
	if cell == "" {
		return 0
	}
	n, err := strconv.Atoi(cell)
	require.NoError(t, err)
	return block.Yards(n)
}
