package main

import (
	_ "embed"
	"fmt"
	"strings"
)

// usage is what `taillamp help` prints: an opening, then a block for each word, divided by blank lines.
//
//go:embed usage.txt
var usage string

// runHelp prints all of the usage, or the block of one word.
func runHelp(name string, args []string, std stdio) int {
	if name == "help" && len(args) > 0 {
		name = args[0]
	}
	if name == "help" || len(args) > 0 && isHelp(args[0]) && name == "serve" {
		fmt.Fprint(std.Out, usage)
		return exitGood
	}
	block := helpOn(name)
	if block == "" {
		return complain(std, misuse("taillamp help", "there is no word %q", name))
	}
	fmt.Fprint(std.Out, block)
	return exitGood
}

// helpOn is the block of usage.txt about one word, empty if there is none.
func helpOn(word string) string {
	for block := range strings.SplitSeq(usage, "\n\n") {
		first, _, _ := strings.Cut(block, "\n")
		if w := strings.Fields(first); len(w) > 1 && w[0] == "taillamp" && strings.Trim(w[1], "[]") == word {
			return strings.TrimSuffix(block, "\n") + "\n"
		}
	}
	return ""
}
