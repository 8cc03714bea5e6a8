package block_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// The standings of a line in the order of the reference's columns. ACW stands in one column with ACC there, and has
// one of its own here.
var standings = []string{"IDLE", "OFF", "OFW", "ACC", "ACW", "ENT", "LINE", "DOUBT"}

// Every cell of the main table, absolute-block reference 4.3: 34 rows, every standing, every level of apparatus. Each
// cell is reached by ordinary events and must give the standing, the findings or the refusal that stand beside it; each
// row of testdata/table/main.txt names its source.
func TestEveryCellOfTheMainTable(t *testing.T) {
	table := readTable(t, mainTable)
	var named []string
	for _, r := range table.rows {
		number := strings.TrimRight(r.name, "ab") // rows 1 and 2 and some others are of either box
		if !slices.Contains(named, number) {
			named = append(named, number)
		}
		for _, standing := range standings {
			for _, level := range levels {
				require.True(t, r.names(standing, level), "row %s names no cell for %s at level %s", r.name, standing, level)
			}
		}
	}
	require.Len(t, named, 34, "rows of the main table")
	table.check(t)
}

// mainTable is the file of the main table; its preps hold in every other.
const mainTable = "main.txt"

// What lies over the standings: absolute-block reference 4.4; which 2-1 it is, 4.6; whose signal it is, 4.7.
func TestOverlaysAndWhatTheyMakeOfASignal(t *testing.T) { readTable(t, "overlays.txt").check(t) }

// Abnormal workings from their first step to what ends them: absolute-block reference 4.5.
func TestAbnormalWorkings(t *testing.T) { readTable(t, "workings.txt").check(t) }

// names tells whether the row has a cell for a standing at a level, be it one that cannot arise.
func (r tableRow) names(standing string, level block.Level) bool {
	return slices.ContainsFunc(r.cells, func(c cell) bool {
		return slices.ContainsFunc(c.where, func(w string) bool { return base(w) == standing }) && slices.Contains(c.levels, level)
	})
}

// table is a file of testdata/table: how each standing is reached, and rows of cells.
type table struct {
	preps map[string]prep
	rows  []tableRow
}

// prep is how a standing is reached: acts in the short form of steps, and what reaching it irregularly leaves behind.
type prep struct {
	from  string // another one, to begin with
	acts  []string
	finds []string
}

// tableRow is one event and what it gives in each standing.
type tableRow struct {
	name, event string
	source      string
	acts        []string
	cells       []cell
}

// cell is what an event gives where the line stands so.
type cell struct {
	line   int
	where  []string // standings, each with the way it came about: LINE, LINE.out
	levels []block.Level
	acts   []string // instead of the row's
	never  string   // why it does not arise
	gives  []string // the standing afterwards and what else is to be seen; = is the same standing
	finds  []string // rule, box, severity
}

// base is the standing itself, without the way it came about.
func base(where string) string {
	s, _, _ := strings.Cut(where, ".")
	return s
}

// check plays every cell at every level it is for, and counts.
func (x table) check(t *testing.T) {
	p := newPlayer(t, x.acts())
	played, never := 0, 0
	for _, r := range x.rows {
		t.Run(r.name, func(t *testing.T) {
			for _, c := range r.cells {
				for _, where := range c.where {
					if c.never != "" {
						never++
						continue
					}
					for _, level := range c.levels {
						played++
						x.play(t, p, r, c, where, level)
					}
				}
			}
		})
	}
	t.Logf("%d rows; %d cells played, each at its level of apparatus; %d cells that do not arise", len(x.rows), played, never)
}

// steps are the acts by which a standing is reached, and what they leave behind.
func (x table) steps(t *testing.T, where string) (acts, finds []string) {
	p, ok := x.preps[where]
	require.True(t, ok, "nothing says how to reach %s", where)
	if p.from != "" {
		acts, finds = x.steps(t, p.from)
	}
	return append(slices.Clip(acts), p.acts...), append(slices.Clip(finds), p.finds...)
}

func (x table) play(t *testing.T, p player, r tableRow, c cell, where string, level block.Level) {
	name := fmt.Sprintf("row %s, %s at level %s (line %d)", r.name, where, level, c.line)
	acts, finds := x.steps(t, where)
	do := c.acts
	if len(do) == 0 {
		do = r.acts
	}
	e := p.play(t, name, level, append(slices.Clip(acts), do...))
	if found := e.findings(t); !slices.Equal(sorted(append(slices.Clip(finds), c.finds...)), found) {
		t.Errorf("%s: found %q, not %q", name, found, sorted(append(slices.Clip(finds), c.finds...)))
	}
	stands := base(where)
	for _, g := range c.gives {
		word, of, _ := strings.Cut(g, "=")
		switch {
		case g == "=":
		case standingForm.MatchString(g):
			stands = g
		default:
			e.see(t, name, word, of)
		}
	}
	if !slices.ContainsFunc(c.gives, func(g string) bool { return strings.HasPrefix(g, "refused") }) && len(e.refused) > 0 {
		t.Errorf("%s: the apparatus refused: %s", name, e.refused)
	}
	if got := e.line(t, "A-B Down Main").Standing; got != stands {
		t.Errorf("%s: the line stands at %s, not at %s", name, got, stands)
	}
}

// standingForm is a standing with its overlays, such as IDLE+bbIn.
var standingForm = regexp.MustCompile(`^[A-Z]+(\+[a-zA-Z]+)*$`)

// acts are all that occur in the table.
func (x table) acts() []string {
	var all []string
	for _, p := range x.preps {
		all = append(all, p.acts...)
	}
	for _, r := range x.rows {
		all = append(all, r.acts...)
		for _, c := range r.cells {
			all = append(all, c.acts...)
		}
	}
	return all
}

func sorted(s []string) []string {
	s = slices.Clone(s)
	slices.Sort(s)
	if s == nil {
		return []string{}
	}
	return s
}

// readTable reads a file of testdata/table. Its form stands at the head of main.txt.
func readTable(t *testing.T, name string) table {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "table", name))
	require.NoError(t, err)
	x := table{preps: make(map[string]prep)}
	if name != mainTable {
		x.preps = readTable(t, mainTable).preps
	}
	no := 0
	for line := range strings.Lines(string(text)) {
		no++
		line, _, _ = strings.Cut(line, "#")
		line = strings.TrimSpace(line)
		word, rest, _ := strings.Cut(line, " ")
		rest = strings.TrimSpace(rest)
		last := len(x.rows) - 1
		switch word {
		case "":
		case "prep":
			name, how, ok := strings.Cut(rest, "=")
			require.True(t, ok, "%s:%d: a prep without =", name, no)
			how, finds, _ := strings.Cut(how, "|")
			p := prep{acts: split(how, ";"), finds: split(finds, ";")}
			if len(p.acts) > 0 {
				if _, known := x.preps[p.acts[0]]; known {
					p.from, p.acts = p.acts[0], p.acts[1:]
				}
			}
			x.preps[strings.TrimSpace(name)] = p
		case "row":
			n, event, _ := strings.Cut(rest, " ")
			x.rows = append(x.rows, tableRow{name: n, event: strings.TrimSpace(event)})
		case "from":
			x.rows[last].source = rest
		case "do":
			x.rows[last].acts = split(rest, ";")
		default:
			require.GreaterOrEqual(t, last, 0, "%s:%d: a cell before the first row", name, no)
			x.rows[last].cells = append(x.rows[last].cells, readCell(t, line, no))
		}
	}
	for _, r := range x.rows {
		require.NotEmpty(t, r.source, "row %s names its source", r.name)
		require.NotEmpty(t, r.event, "row %s says what happens", r.name)
	}
	return x
}

// readCell reads "ACC ACW @free | acts | gives | finds", or "ACC | never | why".
func readCell(t *testing.T, line string, no int) cell {
	t.Helper()
	f := strings.Split(line, "|")
	require.GreaterOrEqual(t, len(f), 3, "line %d: a cell has three parts or four", no)
	c := cell{line: no, levels: levels, acts: split(f[1], ";"), gives: strings.Fields(f[2])}
	for _, w := range strings.Fields(f[0]) {
		if at, ok := strings.CutPrefix(w, "@"); ok {
			c.levels = nil
			for l := range strings.SplitSeq(at, ",") {
				c.levels = append(c.levels, map[string]block.Level{"free": block.Free, "seq": block.Sequential, "int": block.Interlocked}[l])
			}
			continue
		}
		c.where = append(c.where, w)
	}
	if strings.TrimSpace(f[1]) == "never" {
		c.acts, c.gives, c.never = nil, nil, strings.TrimSpace(f[2])
		require.NotEmpty(t, c.never, "line %d: why it does not arise", no)
		return c
	}
	if len(f) > 3 {
		c.finds = split(f[3], ";")
	}
	return c
}

func split(list, by string) []string {
	var parts []string
	for p := range strings.SplitSeq(list, by) {
		if p = strings.TrimSpace(p); p != "" {
			parts = append(parts, p)
		}
	}
	return parts
}
