package main

import (
	"flag"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var rewrite = flag.Bool("rewrite", false, "write what the scripts got into them; look at the difference before keeping it")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"taillamp": main})
}

// Each word of the command line has a script, wrong usage included.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata", UpdateScripts: *rewrite})
}
