package block_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// importPolicy says what each package may import, tests aside. Change it before the code, and with a reason.
//
// A line with = gives a name to a set; a line with < gives a package and all that it may import. std is the standard
// library, and !x takes x and what lies under it away again. A package that no line names may not exist.
const importPolicy = `
# Of the standard library, what neither reaches outside the program nor answers otherwise the next time it is asked.
pure = std !os !io/ioutil !net !sync !context !log !runtime !syscall !unsafe !plugin !flag !math/rand !crypto/rand !testing

toml      = github.com/pelletier/go-toml/v2
websocket = github.com/gorilla/websocket
json      = github.com/go-json-experiment/json
qr        = rsc.io/qr
rate      = golang.org/x/time/rate
pdf       = codeberg.org/go-pdf/fpdf
speaker   = github.com/hajimehoshi/oto/v2
mqtt      = github.com/mochi-mqtt/server/v2 github.com/eclipse/paho.mqtt.golang github.com/eclipse/paho.golang
announce  = github.com/hashicorp/mdns
engine    = github.com/nats-io/nats-server/v2 github.com/nats-io/nats.go github.com/synadia-io/orbit.go/jetstreamext
metrics   = github.com/prometheus/client_golang

# What the boxes say to one another depends on nothing but what it is given.
block             < pure toml
block/notes       < pure block
block/register    < pure block json
block/review      < pure block block/register
block/blocktest   < pure block block/notes

# Simulated people and trains take their chances from a seed.
sim               < pure toml block math/rand/v2
sim/lesson        < pure toml block block/review sim

sounds            < std !net !os toml
sounds/soundtest  < std
sounds/speaker    < std sounds speaker

web/syllabus      < std
web/paper         < std block block/register block/review pdf
web/sitting       < std block block/register block/review sim json
web/sitting/sittingtest < std block block/register web/sitting
web/sitting/fleet < std block block/register web/sitting engine metrics
web/mqtt          < std block web/sitting mqtt rate
web               < std block block/notes block/register block/review sim sim/lesson sounds web/paper web/sitting web/syllabus websocket qr rate

cmd/taillamp      < std block block/notes block/register block/review sim sounds sounds/speaker qr
cmd/taillamp      < web web/paper web/sitting web/syllabus web/sitting/fleet web/mqtt announce metrics
`

// testsOnly are libraries that no program carries.
var testsOnly = []string{
	"github.com/stretchr/testify", "pgregory.net/rapid", "github.com/chromedp", "gonum.org/v1/gonum",
	"github.com/cockroachdb/datadriven", "github.com/rogpeppe/go-internal", "github.com/HdrHistogram/hdrhistogram-go",
}

// taggedOnly are libraries that only a program built with a tag carries.
var taggedOnly = []string{
	"github.com/hajimehoshi/oto/v2", "github.com/nats-io", "github.com/synadia-io", "github.com/prometheus",
}

func TestPackagesImportOnlyWhatThePolicyAllows(t *testing.T) {
	p, err := readPolicy(importPolicy)
	require.NoError(t, err)
	for _, tags := range []string{"", "speaker,fleet"} {
		for _, fault := range p.faults(listed(t, "-tags="+tags, "-deps", "./...")) {
			t.Errorf("with the tags %q: %s", tags, fault)
		}
	}
}

func TestPlainProgramCarriesNoTestLibraryAndNoTaggedOne(t *testing.T) {
	for _, p := range listed(t, "-deps", "./...") {
		for _, kept := range slices.Concat(testsOnly, taggedOnly) {
			if under(p.ImportPath, kept) {
				t.Errorf("the plain program carries %s", p.ImportPath)
			}
		}
	}
	for _, p := range listed(t, "-tags=speaker,fleet", "-deps", "./...") {
		for _, kept := range testsOnly {
			if under(p.ImportPath, kept) {
				t.Errorf("the program built with every tag carries %s", p.ImportPath)
			}
		}
	}
}

// The policy's own reader must find what is forbidden, or the tests above would prove nothing.
func TestPolicyFindsWhatIsForbidden(t *testing.T) {
	p, err := readPolicy(importPolicy)
	require.NoError(t, err)
	std := func(path string) listedPackage { return listedPackage{ImportPath: path, Standard: true} }
	base := []listedPackage{std("fmt"), std("os"), std("net/http"), std("math/rand/v2"), std("sync/atomic")}
	for _, c := range []struct{ who, imports, fault string }{
		{"block", "fmt", ""},
		{"block", "github.com/pelletier/go-toml/v2/unstable", ""},
		{"block", "os", "block may not import os"},
		{"block", "net/http", "block may not import net/http"},
		{"block", "sync/atomic", "block may not import sync/atomic"},
		{"block", "math/rand/v2", "block may not import math/rand/v2"},
		{"block", "taillamp/sim", "block may not import sim"},
		{"sim", "math/rand/v2", ""},
		{"sim", "taillamp/block/register", "sim may not import block/register"},
		{"web", "taillamp/cmd/taillamp", "web may not import cmd/taillamp"},
		{"web", "github.com/gorilla/websocket", ""},
		{"sounds", "github.com/hajimehoshi/oto/v2", "sounds may not import github.com/hajimehoshi/oto/v2"},
		{"cmd/taillamp", "taillamp/web/mqtt", ""},
		{"yard", "fmt", "yard is not in the policy"},
	} {
		who := listedPackage{ImportPath: house + "/" + c.who, Imports: []string{c.imports}}
		got := strings.Join(p.faults(append([]listedPackage{who}, base...)), "; ")
		if got != c.fault {
			t.Errorf("%s importing %s: %q, want %q", c.who, c.imports, got, c.fault)
		}
	}
}

// house is the module.
const house = "taillamp"

// listedPackage is what is asked of `go list`.
type listedPackage struct {
	ImportPath string
	Dir        string
	Export     string // file of the compiled package, if asked for
	Standard   bool
	Imports    []string
	GoFiles    []string
}

// listed runs `go list` at the top of the tree.
func listed(t *testing.T, args ...string) []listedPackage {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Export,Standard,Imports,GoFiles"}, args...)...)
	cmd.Dir = ".."
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	require.NoError(t, err, "go list %s: %s", args, complaints.String())
	var all []listedPackage
	for in := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listedPackage
		if err := in.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatalf("go list %s: %v", args, err)
		}
		all = append(all, p)
	}
}

// policy is what each package of the house may import, as words of importPolicy.
type policy map[string][]string

func readPolicy(text string) (policy, error) {
	names, p := map[string][]string{}, policy{}
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		switch {
		case len(words) == 0 || strings.HasPrefix(words[0], "#"):
		case len(words) < 3:
			return nil, fmt.Errorf("policy line %q says nothing", strings.TrimSpace(line))
		case words[1] == "=":
			names[words[0]] = words[2:]
		case words[1] == "<":
			for _, w := range words[2:] {
				if set, ok := names[w]; ok {
					p[words[0]] = append(p[words[0]], set...)
					continue
				}
				p[words[0]] = append(p[words[0]], w)
			}
		default:
			return nil, fmt.Errorf("policy line %q has neither = nor <", strings.TrimSpace(line))
		}
	}
	return p, nil
}

// faults are the imports among the packages that the policy forbids.
func (p policy) faults(all []listedPackage) []string {
	std := map[string]bool{"C": true, "unsafe": true}
	for _, l := range all {
		std[l.ImportPath] = l.Standard
	}
	var faults []string
	for _, l := range all {
		who, ours := strings.CutPrefix(l.ImportPath, house+"/")
		if !ours {
			continue
		}
		words, ok := p[who]
		if !ok {
			faults = append(faults, who+" is not in the policy")
			continue
		}
		for _, path := range l.Imports {
			if !allowed(words, path, std[path]) {
				faults = append(faults, fmt.Sprintf("%s may not import %s", who, strings.TrimPrefix(path, house+"/")))
			}
		}
	}
	return faults
}

// allowed tells whether the words of a policy line let a package in. A package that is named outright comes in
// although a set takes it away.
func allowed(words []string, path string, std bool) bool {
	if own, ours := strings.CutPrefix(path, house+"/"); ours {
		return slices.Contains(words, own)
	}
	taken := false
	for _, w := range words {
		if w == path || !std && under(path, w) {
			return true
		}
		taken = taken || strings.HasPrefix(w, "!") && under(path, w[1:])
	}
	return std && !taken && slices.Contains(words, "std")
}

// under tells whether path is root or lies below it.
func under(path, root string) bool {
	return path == root || strings.HasPrefix(path, root+"/")
}
