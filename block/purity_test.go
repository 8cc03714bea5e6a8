package block_test

import (
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// pureTrees are the packages whose answers depend on their arguments alone, so that a record replayed tomorrow on
// another machine gives what it gave tonight: the same trains, the same registers, the same irregularities.
var pureTrees = []string{"./block/...", "./sim/..."}

func TestBlockAndSimDependOnTheirArgumentsAlone(t *testing.T) {
	compiled := compiledPackages(t, pureTrees...)
	seen := 0
	for _, p := range listed(t, pureTrees...) {
		t.Run(strings.TrimPrefix(p.ImportPath, house+"/"), func(t *testing.T) {
			files := token.NewFileSet()
			var parsed []*ast.File
			for _, name := range p.GoFiles {
				f, err := parser.ParseFile(files, filepath.Join(p.Dir, name), nil, parser.ParseComments)
				require.NoError(t, err)
				parsed = append(parsed, f)
			}
			for _, fault := range impurities(t, files, parsed, p.ImportPath, compiled) {
				t.Error(fault)
			}
			seen += len(parsed)
		})
	}
	require.Greater(t, seen, 20, "files read")
}

// The finder must find every kind of fault, or the test above would prove nothing.
func TestImpuritiesAreFound(t *testing.T) {
	const head = `package p
		import ("maps"; "math/rand/v2"; "slices"; "sync"; "time")
		var m map[string]int
		var _, _, _, _, _ = maps.Keys[map[string]int], rand.NewPCG, slices.Sorted[int], sync.OnceFunc, time.UTC
		`
	const headFault = "p.go:4: uses sync.OnceFunc" // one of the lines that keep the imports in use
	compiled := compiledPackages(t, "maps", "math/rand/v2", "slices", "sync", "time")
	for _, c := range []struct{ code, fault string }{
		{`func f(at time.Time) time.Time { return at.Add(time.Second) }`, ""},
		{`func f() time.Time { return time.Now() }`, "time.Now"},
		{`func f(at time.Time) time.Duration { return time.Since(at) }`, "time.Since"},
		{`var f = time.Now`, "time.Now"},
		{`func f(at time.Time) time.Time { return at.Local() }`, "time.Local"},
		{`var f = time.Local`, "time.Local"},
		{`func f() int { return rand.New(rand.NewPCG(1, 2)).IntN(6) }`, ""},
		{`func f() int { return rand.IntN(6) }`, "rand.IntN without a seed"},
		{`func f() { rand.Shuffle(0, nil) }`, "rand.Shuffle without a seed"},
		{`func f() { go f() }`, "a goroutine"},
		{`func f(c chan int) {}`, "a channel"},
		{`func f() { select {} }`, "a select"},
		{`var l sync.Mutex`, "sync.Mutex"},
		{`func f() { for range m {} }`, "a map in no order"},
		{"func f() {\n// order does not matter: they are only counted\nfor range m {} }", ""},
		{"func f() {\nfor range m {} // order does not matter: they are only counted\n}", ""},
		{"func f() {\n// order does not matter:\nfor range m {} }", "a map in no order"},
		{`func f() { for range []int{} {} }`, ""},
		{`func f() []string { return slices.Collect(maps.Keys(m)) }`, "maps.Keys in no order"},
		{`func f() []string { return slices.Sorted(maps.Keys(m)) }`, ""},
	} {
		files := token.NewFileSet()
		parsed, err := parser.ParseFile(files, "p.go", head+c.code, parser.ParseComments)
		require.NoError(t, err, c.code)
		got := slices.DeleteFunc(impurities(t, files, []*ast.File{parsed}, "p", compiled), func(fault string) bool {
			return fault == headFault
		})
		if c.fault == "" && len(got) > 0 || c.fault != "" && (len(got) != 1 || !strings.Contains(got[0], c.fault)) {
			t.Errorf("%s\nfound %q, want %q", c.code, got, c.fault)
		}
	}
}

// compiledPackages finds the compiled form of packages and all that they import. One that cannot be compiled has none,
// and is complained of where it is checked.
func compiledPackages(t *testing.T, patterns ...string) map[string]string {
	t.Helper()
	files := map[string]string{}
	for _, p := range listed(t, append([]string{"-e", "-export", "-deps"}, patterns...)...) {
		files[p.ImportPath] = p.Export
	}
	return files
}

// orderless is the comment by which whoever ranges over a map answers for it.
var orderless = regexp.MustCompile(`^// order does not matter: \w+`)

// ofTheMoment are what package time has for asking the time of day, waiting, or asking where the machine stands.
var ofTheMoment = []string{
	"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local",
}

// impurities lists what in the files of one package could make its answers differ from one run to the next.
func impurities(t *testing.T, files *token.FileSet, parsed []*ast.File, path string, compiled map[string]string) []string {
	t.Helper()
	info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Types: map[ast.Expr]types.TypeAndValue{}}
	open := func(path string) (io.ReadCloser, error) { return os.Open(compiled[path]) }
	check := types.Config{Importer: importer.ForCompiler(files, "gc", open)}
	_, err := check.Check(path, files, parsed, info)
	require.NoError(t, err)

	f := finder{files: files, info: info}
	for _, file := range parsed {
		f.answered, f.sorted = f.answers(file), map[ast.Expr]bool{}
		ast.Inspect(file, f.look)
	}
	return f.faults
}

// finder goes through one file after another.
type finder struct {
	files    *token.FileSet
	info     *types.Info
	answered map[int]bool      // lines on which the order of a map is answered for
	sorted   map[ast.Expr]bool // calls whose order is put right at once
	faults   []string
}

// answers finds the lines that an orderless comment covers: its own and the next.
func (f *finder) answers(file *ast.File) map[int]bool {
	lines := map[int]bool{}
	for _, group := range file.Comments {
		for _, c := range group.List {
			if orderless.MatchString(c.Text) {
				lines[f.files.Position(c.Pos()).Line] = true
				lines[f.files.Position(group.End()).Line+1] = true
			}
		}
	}
	return lines
}

func (f *finder) fault(at ast.Node, what string) {
	where := f.files.Position(at.Pos())
	f.faults = append(f.faults, fmt.Sprintf("%s:%d: %s", filepath.Base(where.Filename), where.Line, what))
}

func (f *finder) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.GoStmt:
		f.fault(n, "starts a goroutine")
	case *ast.SelectStmt:
		f.fault(n, "waits in a select")
	case *ast.ChanType:
		f.fault(n, "has a channel")
	case *ast.RangeStmt:
		if _, ok := f.info.TypeOf(n.X).Underlying().(*types.Map); ok && !f.answered[f.files.Position(n.Pos()).Line] {
			f.fault(n, "ranges over a map in no order; sort it, or say above it `// order does not matter: why`")
		}
	case *ast.CallExpr:
		f.call(n)
	case *ast.Ident:
		f.name(n)
	}
	return true
}

// call looks for the members of a map taken in no order.
func (f *finder) call(n *ast.CallExpr) {
	of, name := f.calls(n)
	if of == "slices" && strings.HasPrefix(name, "Sorted") && len(n.Args) > 0 {
		f.sorted[n.Args[0]] = true
	}
	if of != "maps" || f.sorted[n] || f.answered[f.files.Position(n.Pos()).Line] {
		return
	}
	if name == "Keys" || name == "Values" || name == "All" {
		f.fault(n, "takes maps."+name+" in no order; use slices.Sorted, or say above it `// order does not matter: why`")
	}
}

// calls gives the package and name of the function that is called, if it is a package's own.
func (f *finder) calls(n *ast.CallExpr) (of, name string) {
	fun, ok := n.Fun.(*ast.SelectorExpr)
	if !ok {
		return "", ""
	}
	if o := f.info.Uses[fun.Sel]; o != nil && o.Pkg() != nil {
		return o.Pkg().Path(), o.Name()
	}
	return "", ""
}

// name looks at what an identifier stands for.
func (f *finder) name(n *ast.Ident) {
	o := f.info.Uses[n]
	if o == nil || o.Pkg() == nil {
		return
	}
	switch path := o.Pkg().Path(); path {
	case "time":
		if slices.Contains(ofTheMoment, o.Name()) && (!isMethod(o) || o.Name() == "Local") { // at.After(b) only compares
			f.fault(n, "asks time."+o.Name())
		}
	case "math/rand", "math/rand/v2":
		if _, ok := o.(*types.Func); ok && !isMethod(o) && !strings.HasPrefix(o.Name(), "New") {
			f.fault(n, "calls rand."+o.Name()+" without a seed")
		}
	case "crypto/rand", "sync", "sync/atomic":
		f.fault(n, "uses "+o.Pkg().Name()+"."+o.Name())
	}
}

func isMethod(o types.Object) bool {
	fn, ok := o.(*types.Func)
	return ok && fn.Signature().Recv() != nil
}
