package block

import (
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

// The longest file that is read. A district of three hundred boxes takes a tenth of it.
const maxText = 1 << 20

// fill reads a TOML text into a struct that holds its defaults already. Unlike a decoder that stops at the first
// mistake it goes on and names every key that is unknown and every value of the wrong kind.
func fill(text []byte, into any) (tomlLines, Flaws) {
	if len(text) > maxText {
		return tomlLines{broken: true}, Flaws{{Line: 1, What: fmt.Sprintf("the file has %d bytes", len(text)), Right: fmt.Sprintf("the most is %d", maxText)}}
	}
	lines := linesOf(text)
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		lines.broken = true
		return lines, Flaws{notTOML(text, err)}
	}
	f := filler{lines: lines}
	f.table(reflect.ValueOf(into).Elem(), tree, "")
	return lines, f.flaws
}

// notTOML turns the decoder's words into a flaw. The field is what stands before the = of that line.
func notTOML(text []byte, err error) Flaw {
	what := strings.TrimPrefix(err.Error(), "toml: ")
	f := Flaw{Line: 1, What: "this is no TOML: " + what, Right: "write one key = value a line, texts in quotation marks"}
	var d *toml.DecodeError
	if errors.As(err, &d) {
		f.Line, _ = d.Position()
	}
	if rows := strings.Split(string(text), "\n"); f.Line >= 1 && f.Line <= len(rows) {
		key, _, _ := strings.Cut(rows[f.Line-1], "=")
		f.Field = strings.Trim(quoted(strings.Trim(key, " \t\r[]")), `"`)
	}
	return f
}

type filler struct {
	lines tomlLines
	flaws Flaws
}

func (f *filler) wrong(path, what, right string) {
	f.flaws.add(f.lines.line(path), path, what, right)
}

// defaulter is a table that has values of its own where the file is silent.
type defaulter interface{ setDefaults() }

// table fills the fields of a struct by their toml names.
func (f *filler) table(into reflect.Value, tree map[string]any, path string) {
	names := tomlNames(into.Type())
	// order does not matter: the flaws are sorted when all are found
	for key, v := range tree {
		at := dotted(path, key)
		i := slices.Index(names, key)
		if i < 0 || key == "" {
			f.unknown(at, key, names)
			continue
		}
		f.value(into.Field(i), v, at)
	}
}

// tomlNames gives the key of each field, in the order of the fields; "" for a field that no file holds.
func tomlNames(t reflect.Type) []string {
	names := make([]string, t.NumField())
	for i := range names {
		if tag := t.Field(i).Tag.Get("toml"); tag != "-" {
			names[i], _, _ = strings.Cut(tag, ",")
		}
	}
	return names
}

func (f *filler) unknown(path, key string, names []string) {
	right := nearest(key, names)
	if right == "" {
		known := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == "" })
		f.wrong(path, "no key is called "+quoted(key)+" here", "the keys are "+strings.Join(known, ", "))
		return
	}
	f.wrong(path, "no key is called "+quoted(key)+" here", "did you mean "+right+"?")
}

var textType = reflect.TypeFor[encoding.TextUnmarshaler]()

func (f *filler) value(into reflect.Value, v any, path string) {
	if reflect.PointerTo(into.Type()).Implements(textType) {
		f.text(into, v, path)
		return
	}
	switch into.Kind() {
	case reflect.Pointer:
		into.Set(reflect.New(into.Type().Elem()))
		f.value(into.Elem(), v, path)
	case reflect.String:
		if s, ok := v.(string); ok {
			into.SetString(s)
			return
		}
		f.wrong(path, fmt.Sprintf("%v is no text", v), "write it in quotation marks")
	case reflect.Bool:
		if b, ok := v.(bool); ok {
			into.SetBool(b)
			return
		}
		f.wrong(path, shown(v)+" is neither true nor false", "write true or false, without quotation marks")
	case reflect.Int:
		if n, ok := v.(int64); ok {
			into.SetInt(n)
			return
		}
		f.wrong(path, shown(v)+" is no whole number", "write a number such as 6, without quotation marks")
	case reflect.Float64:
		f.number(into, v, path)
	case reflect.Slice:
		f.list(into, v, path)
	case reflect.Map:
		f.pairs(into, v, path)
	case reflect.Struct:
		if t, ok := v.(map[string]any); ok {
			f.table(into, t, path)
			return
		}
		f.wrong(path, shown(v)+" is no table", "write it as a table: ["+path+"]")
	}
}

func (f *filler) text(into reflect.Value, v any, path string) {
	s, ok := v.(string)
	if !ok {
		f.wrong(path, shown(v)+" is no text", "write it in quotation marks")
		return
	}
	if err := into.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s)); err != nil {
		f.wrongWords(path, err)
	}
}

// wrongWords parts an error of ours, "what is wrong; what is right", into its halves.
func (f *filler) wrongWords(path string, err error) {
	what, right, _ := strings.Cut(strings.TrimPrefix(err.Error(), "block: "), "; ")
	f.wrong(path, what, right)
}

func (f *filler) number(into reflect.Value, v any, path string) {
	switch n := v.(type) {
	case int64:
		into.SetFloat(float64(n))
	case float64:
		into.SetFloat(n)
	default:
		f.wrong(path, shown(v)+" is no number", "write a number such as 440, without quotation marks or commas")
	}
}

func (f *filler) list(into reflect.Value, v any, path string) {
	all, ok := v.([]any)
	if !ok {
		f.wrong(path, shown(v)+" is no list", "write it in square brackets")
		return
	}
	into.Set(reflect.MakeSlice(into.Type(), len(all), len(all)))
	for i, x := range all {
		e := into.Index(i)
		if d, ok := e.Addr().Interface().(defaulter); ok {
			d.setDefaults()
		}
		f.value(e, x, element(path, i))
	}
}

func (f *filler) pairs(into reflect.Value, v any, path string) {
	all, ok := v.(map[string]any)
	if !ok {
		f.wrong(path, shown(v)+" is no table", "write it in braces: { UL = … }")
		return
	}
	into.Set(reflect.MakeMap(into.Type()))
	// order does not matter: one map is copied into another, and the flaws are sorted
	for k, x := range all {
		e := reflect.New(into.Type().Elem()).Elem()
		f.value(e, x, dotted(path, k))
		into.SetMapIndex(reflect.ValueOf(k).Convert(into.Type().Key()), e)
	}
}

// shown is a value as a message repeats it, cut short if it is long.
func shown(v any) string {
	switch v := v.(type) {
	case string:
		return quoted(v)
	case map[string]any:
		return "a table"
	case []any:
		return "a list"
	}
	return fmt.Sprint(v)
}

// quoted puts a word of the file into quotation marks; a long one is cut.
func quoted(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// nearest finds the word that was probably meant: at most a third of its letters differ, and not all of them. Empty if
// none is near.
func nearest(word string, among []string) string {
	best, least := "", min(1+max(1, len(word)/3), len(word))
	for _, w := range among {
		if w == "" {
			continue
		}
		if d := apart(strings.ToLower(word), strings.ToLower(w)); d < least {
			best, least = w, d
		}
	}
	return best
}

// apart counts the letters to change, add or drop to get from one word to the other; two swapped count as one.
func apart(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 60 || len(y) > 60 {
		return max(len(x), len(y))
	}
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}
