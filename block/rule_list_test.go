package block_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// laidBy are the functions that lay an irregularity, and the place of the rule among their arguments.
var laidBy = map[string]bool{"breaks": true, "breaksAs": true, "add": true, "addAs": true}

var ruleForm = regexp.MustCompile(`^(R|OC-|TK-|ST-|TC-|PM-|TM-|SS-|FG-|FA-)\d\d$`)

// rulesLaid finds the ids of the rules that the Go sources of a directory lay to boxes, tests aside.
func rulesLaid(t *testing.T, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	require.NotEmpty(t, files, dir)
	var ids []string
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			f, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || !laidBy[f.Sel.Name] {
				return true
			}
			if lit, ok := call.Args[0].(*ast.BasicLit); ok && lit.Kind == token.STRING {
				if id, err := strconv.Unquote(lit.Value); err == nil && ruleForm.MatchString(id) && !slices.Contains(ids, id) {
					ids = append(ids, id)
				}
			}
			return true
		})
	}
	slices.Sort(ids)
	require.NotEmpty(t, ids, "rules laid in %s", dir)
	return ids
}

// halves are the rules of which an act proves the grave half and time the lighter one: a false 2-1 at once, a
// forgotten one after five minutes. They count as checked by the act.
var halves = map[string]string{
	"R44": "a 3-5 left unanswered",
	"R46": "a release that nobody booked",
	"R52": "an obstruction's end forgotten",
	"R56": "a shunt's end forgotten",
	"R58": "a signal not put back after 6",

	"OC-10": "no reminder on two minutes after the line was given up",
	"TK-05": "a move still outside a minute after 2-1",
	"TK-07": "a 2 that never came",
	"TK-08": "a 2-1 that is late",
	"TK-09": "a train seen come, and not known to be whole when its token went in",
}

// Every rule of the list is checked where it says, and no other rule is laid to anybody.
func TestEachRuleIsCheckedWhereItsLineSays(t *testing.T) {
	act, later := rulesLaid(t, "."), rulesLaid(t, "review")
	for _, id := range slices.Concat(act, later) {
		_, ok := block.FindRule(block.RuleID(id))
		assert.True(t, ok, "%s is laid to boxes and stands in no list", id)
	}
	for _, r := range block.AllRules() {
		id := string(r.ID)
		inAct, inLater := slices.Contains(act, id), slices.Contains(later, id)
		switch r.Checked {
		case "act":
			assert.True(t, inAct, "%s is said to be checked by the act, and is not", id)
			assert.Equal(t, halves[id] != "", inLater, "%s is checked by the act; does the reviewer find its other half?", id)
		case "later":
			assert.True(t, inLater, "%s is said to be found later, and is not", id)
			assert.False(t, inAct, "%s is said to be found later, and the act checks it", id)
		case "never":
			assert.False(t, inAct || inLater, "%s is said never to be checked, and is", id)
			assert.Regexp(t, `^(not checked|not found by itself|cannot occur here|never a finding): `, r.NotWhen, "%s: why it is never checked", id)
		default:
			t.Errorf("%s: checked %q is none of act, later, never", id, r.Checked)
		}
	}
}

// workingsOnly are the rules that the reference gives no line of their own, only a row of its section 4.5: fog or falling
// snow, and everything failed.
var workingsOnly = []string{"FG-01", "FA-01"}

// The rules are those of the references, absolute block 7 and other methods 2.10, 5.5, 7.6, 8.4, 9.5: R01 to R70, TK-01 to
// TK-14, PM-01 to PM-10, TM-01 to TM-10, OC-01 to OC-10, SS-01 to SS-10, and 3.5: ST-01 to ST-12, and 6: TC-01 to TC-03. Two more it gives as workings only.
func TestTheListHoldsEveryRuleOfTheReferences(t *testing.T) {
	want, got := slices.Clone(workingsOnly), []string(nil)
	for prefix, n := range map[string]int{"R": 70, "TK-": 14, "PM-": 10, "TM-": 10, "OC-": 10, "SS-": 10, "ST-": 12, "TC-": 3} {
		for i := 1; i <= n; i++ {
			want = append(want, prefix+strings.Repeat("0", 2-len(strconv.Itoa(i)))+strconv.Itoa(i))
		}
	}
	for _, r := range block.AllRules() {
		got = append(got, string(r.ID))
	}
	assert.ElementsMatch(t, want, got)
}

// The severity and the grade of each rule are those of the references, whose table is in testdata.
func TestRulesAreAsGraveAsTheReferenceSays(t *testing.T) {
	f := readSheet(t, "testdata/reference/rules.csv")
	require.Len(t, f, len(block.AllRules())-len(workingsOnly))
	for _, row := range f {
		r, ok := block.FindRule(block.RuleID(row["id"]))
		require.True(t, ok, row["id"])
		assert.Equal(t, row["severity"], string(r.Severity), "%s: severity", row["id"])
		assert.Equal(t, row["grade"], r.Grade, "%s: grade", row["id"])
		if row["name"] != "" {
			assert.Equal(t, row["name"], r.Name, "%s: name", row["id"])
		}
		for key := range strings.FieldsSeq(row["cite"]) {
			assert.Contains(t, r.Cite, key, "%s: the reference cites %s", row["id"], key)
		}
	}
}

// Everything that is said is cited (Q11): each rule names a publication that is in the list of sources, or says that
// there is none, and has a grade that fits.
func TestEveryRuleHasWordsSourceAndGrade(t *testing.T) {
	names := make(map[string]block.RuleID)
	for _, r := range block.AllRules() {
		id := r.ID
		assert.Regexp(t, `^[a-z]+(-[a-z]+)+$`, r.Name, "%s: name", id)
		assert.Empty(t, names[r.Name], "%s: its name is another's", id)
		names[r.Name] = id
		assert.Contains(t, []block.Severity{block.Tell, block.Irregular, block.Dangerous}, r.Severity, "%s: severity", id)
		assert.NotEmpty(t, r.Family, "%s: family", id)
		for field, text := range map[string]string{"says": r.Says, "instead": r.Instead} {
			assert.Regexp(t, `^[A-Z].*\.$`, text, "%s: %s is a sentence", id, field)
			assert.LessOrEqual(t, len(text), 160, "%s: %s fits on two lines of 80", id, field)
		}
		assert.NotEmpty(t, r.NotWhen, "%s: notWhen", id)
		assert.NotEmpty(t, r.Looks, "%s: looks", id)
		keys := block.CitedKeys(r.Cite)
		for _, key := range keys {
			_, ok := block.FindSource(key)
			assert.True(t, ok, "%s: no publication has the key %q", id, key)
		}
		switch r.Grade {
		case "S":
			assert.NotEmpty(t, keys, "%s: grade S names a publication", id)
		case "M":
			assert.Contains(t, r.Cite, "from memory", "%s: grade M", id)
		case "P":
			assert.Contains(t, r.Cite, "common practice, no source", "%s: grade P", id)
		default:
			t.Errorf("%s: grade %q is none of S, M, P", id, r.Grade)
		}
	}
}

// Each source has a publication and says how much of it was read, and has a key of its own.
func TestEverySourceSaysWhatWasRead(t *testing.T) {
	seen := make(map[string]bool)
	for _, s := range block.AllSources() {
		assert.Regexp(t, `^[A-Z0-9][A-Z0-9-]*$`, s.Key)
		assert.False(t, seen[s.Key], "%s is there twice", s.Key)
		seen[s.Key] = true
		assert.NotEmpty(t, s.Publication, s.Key)
		assert.NotEmpty(t, s.Read, s.Key)
	}
}

// Each file of rules is in the list of families, and holds one family.
func TestEveryFileOfRulesIsRead(t *testing.T) {
	var families []string
	for _, r := range block.AllRules() {
		if !slices.Contains(families, r.Family) {
			families = append(families, r.Family)
		}
	}
	files, err := os.ReadDir("rules")
	require.NoError(t, err)
	var want []string
	for _, f := range files {
		if name := strings.TrimSuffix(filepath.Base(f.Name()), ".toml"); name != "sources" && !f.IsDir() {
			want = append(want, name)
		}
	}
	assert.ElementsMatch(t, want, families)
}
