package main

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

// licenceFiles are the terms of everything that a binary of this program may carry, as their authors wrote them: the
// Go libraries by module path, / written as _, Go itself, and the letters that the pages are set in.
//
//go:embed licences/*.txt
var licenceFiles embed.FS

// showLicences writes out the terms of everything that the program is made of.
func showLicences(std stdio) int {
	w := &errWriter{w: std.Out}
	files, err := fs.Glob(licenceFiles, "licences/*.txt")
	if err != nil {
		return complain(std, err)
	}
	for _, file := range files {
		text, err := licenceFiles.ReadFile(file)
		if err != nil {
			return complain(std, err)
		}
		name := strings.TrimSuffix(strings.TrimPrefix(file, "licences/"), ".txt")
		name = strings.ReplaceAll(name, "_", "/")
		fmt.Fprintf(w, "\n%s\n%s\n\n%s\n", name, strings.Repeat("─", len(name)), strings.TrimSpace(string(text)))
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	return exitGood
}
