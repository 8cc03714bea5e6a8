// Command taillamp keeps a district of signal boxes in touch by bell codes and block indicators, and writes their
// train registers. `taillamp help` prints what it can be asked to do.
//
// For hobby and training only: it must never be the only protection of anything.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	_ "time/tzdata" // a district keeps its own time wherever the machine stands
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], stdio{Out: os.Stdout, Err: os.Stderr})
	stop()
	os.Exit(code)
}

// stdio is where results and complaints go.
type stdio struct{ Out, Err io.Writer }

// The ways in which the program ends.
const (
	exitGood     = 0 // a review with findings too
	exitMaterial = 1 // a file cannot be read or has faults
	exitUsage    = 2 // the command line is wrong
	exitCould    = 3 // the machine would not: disk, port
)

// word is one thing that the program can be asked to do.
type word struct {
	name string
	run  func(ctx context.Context, args []string, std stdio) int
}

func words() []word {
	return []word{
		{"serve", runServe},
		{"check", runCheck},
		{"codes", runCodes},
		{"rules", runRules},
		{"play", runPlay},
		{"register", runRegister},
		{"review", runReview},
		{"graph", runGraph},
		{"paper", runPaper},
		{"nameless", runNameless},
		{"day", runDay},
		{"voices", runVoices},
		{"carry", runCarry},
		{"version", runVersion},
	}
}

// run does what the arguments ask and gives the exit status. Without a word it serves.
func run(ctx context.Context, args []string, std stdio) int {
	name := "serve"
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		name, args = args[0], args[1:]
	}
	if name == "help" || len(args) > 0 && isHelp(args[0]) {
		return runHelp(name, args, std)
	}
	for _, w := range words() {
		if w.name == name {
			return w.run(ctx, args, std)
		}
	}
	return complain(std, misuse("taillamp help", "there is no word %q", name))
}

func isHelp(arg string) bool { return arg == "-h" || arg == "-help" || arg == "--help" }
