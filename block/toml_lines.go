package block

import (
	"strconv"

	"github.com/pelletier/go-toml/v2/unstable"
)

// tomlLines finds the line of a file at which each of its keys stands: "box[2].clearing" → 31.
type tomlLines struct {
	at    map[string]int
	count map[string]int // elements of each array of tables so far

	broken bool // the text is no TOML; nothing of it was read
}

// linesOf reads the places of all keys. A text that is no TOML gives those before its first mistake.
func linesOf(text []byte) tomlLines {
	t := tomlLines{at: make(map[string]int), count: make(map[string]int)}
	var p unstable.Parser
	p.Reset(text)
	table := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table:
			table = t.table(&p, e, false)
		case unstable.ArrayTable:
			table = t.table(&p, e, true)
		case unstable.KeyValue:
			t.keyValue(&p, e, table)
		}
	}
	return t
}

// line returns the line of a key, or of the nearest table around it.
func (t tomlLines) line(path string) int {
	for {
		if n, ok := t.at[path]; ok || path == "" { // a key may be the empty name
			return n
		}
		path = outside(path)
	}
}

// outside drops the last part of a path: "box[2].clearing" → "box[2]" → "box" → "".
func outside(path string) string {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i] == '.' || path[i] == '[' {
			return path[:i]
		}
	}
	return ""
}

func (t tomlLines) table(p *unstable.Parser, e *unstable.Node, array bool) string {
	path, line := "", 0
	for keys := e.Key(); keys.Next(); {
		path = dotted(path, string(keys.Node().Data))
		if line == 0 {
			line = lineOf(p, keys.Node())
		}
		t.first(path, line)
		if !keys.IsLast() {
			path = t.newest(path)
		}
	}
	if array {
		t.count[path]++
		path = t.newest(path)
	}
	t.at[path] = line
	return path
}

// first notes where a table is first named.
func (t tomlLines) first(path string, line int) {
	if path != "" && t.at[path] == 0 {
		t.at[path] = line
	}
}

// newest is the element of an array of tables that a key below it belongs to.
func (t tomlLines) newest(path string) string {
	if n := t.count[path]; n > 0 {
		return element(path, n-1)
	}
	return path
}

func (t tomlLines) keyValue(p *unstable.Parser, e *unstable.Node, path string) {
	line := 0
	for keys := e.Key(); keys.Next(); {
		path = dotted(path, string(keys.Node().Data))
		line = lineOf(p, keys.Node())
		t.first(outside(path), line) // a table in braces begins where its first key stands
	}
	t.at[path] = line
	t.value(p, e.Value(), path)
}

func (t tomlLines) value(p *unstable.Parser, v *unstable.Node, path string) {
	switch v.Kind {
	case unstable.InlineTable:
		for c := v.Children(); c.Next(); {
			if c.Node().Kind == unstable.KeyValue {
				t.keyValue(p, c.Node(), path)
			}
		}
	case unstable.Array:
		i := 0
		for c := v.Children(); c.Next(); {
			t.value(p, c.Node(), element(path, i))
			i++
		}
	}
}

func lineOf(p *unstable.Parser, n *unstable.Node) int {
	if n.Raw.Length == 0 {
		return 0
	}
	return p.Shape(n.Raw).Start.Line
}

func dotted(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func element(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }
