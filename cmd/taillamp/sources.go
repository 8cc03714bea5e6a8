package main

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"taillamp/block"
)

// source is a citation with its grade in a word.
func source(cite, grade string) string {
	switch {
	case grade != "S": // a citation without a publication behind it says so itself
		return cite
	case cite == "":
		return "sourced"
	}
	return cite + " (sourced)"
}

// showSources lists the publications that citations name, each once, in the order of the list of sources.
func showSources(w io.Writer, cites []string, own []block.Source) {
	text := strings.Join(cites, "; ")
	head := "\nSources\n"
	for _, s := range append(block.AllSources(), own...) {
		if !regexp.MustCompile(`(^|[ ;,])` + regexp.QuoteMeta(s.Key) + `($|[ ;,:])`).MatchString(text) {
			continue
		}
		fmt.Fprint(w, head)
		head = ""
		left := pad(s.Key, 9)
		for _, l := range wrap(s.Publication, codesWidth-len(left)) {
			fmt.Fprintln(w, left+l)
			left = strings.Repeat(" ", len(left))
		}
	}
}
