package main

import (
	"bufio"
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
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
		Condition:     func(cond string) (bool, error) { return cond == "fleet" && fleetBuilt, nil },
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"damage":      damage,
			"interrupted": interrupted,
			"tear":        tear,
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

// interrupted runs `taillamp serve`, interrupts it when it has said all that it says at its start, and waits. What it
// printed is then the standard output of the script.
func interrupted(ts *testscript.TestScript, neg bool, args []string) {
	program := ""
	for _, dir := range filepath.SplitList(ts.Getenv("PATH")) {
		if file := filepath.Join(dir, "taillamp"); program == "" && isFile(file) {
			program = file
		}
	}
	cmd := exec.Command(program, append([]string{"serve"}, args...)...)
	cmd.Dir = ts.MkAbs(".")
	cmd.Env = append(os.Environ(), "HOME="+ts.Getenv("HOME"), "XDG_DATA_HOME="+ts.Getenv("XDG_DATA_HOME"))
	cmd.Stderr = ts.Stderr()
	out, err := cmd.StdoutPipe()
	ts.Check(err)
	ts.Check(cmd.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		_, err := ts.Stdout().Write(append(lines.Bytes(), '\n'))
		ts.Check(err)
		if strings.HasPrefix(lines.Text(), "carries passengers.") {
			ts.Check(cmd.Process.Signal(os.Interrupt))
		}
	}
	ts.Check(cmd.Wait())
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
