package main

import (
	"bytes"
	"flag"
	"os"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var rewrite = flag.Bool("rewrite", false, "write what the scripts got into them; look at the difference before keeping it")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"taillamp": main})
}

// Each word of the command line has a script, wrong usage included.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata",
		UpdateScripts: *rewrite,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"damage": damage,
			"tear":   tear,
		},
	})
}

// damage FILE LINE alters one letter in the middle of a line, as a bad disk would.
func damage(ts *testscript.TestScript, neg bool, args []string) {
	text := []byte(ts.ReadFile(args[0]))
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	lines := bytes.SplitAfter(text, []byte("\n"))
	line := lines[n-1]
	line[len(line)/2] ^= 1
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), bytes.Join(lines, nil), 0o644))
}

// tear FILE BYTES takes the last bytes of a file away, as a power cut would.
func tear(ts *testscript.TestScript, neg bool, args []string) {
	text := ts.ReadFile(args[0])
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text[:len(text)-n]), 0o644))
}
