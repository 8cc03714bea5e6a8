package main

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
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
	for _, set := range []embed.FS{licenceFiles, fleetLicences} {
		err := fs.WalkDir(set, ".", func(file string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := set.ReadFile(file)
			name := strings.ReplaceAll(strings.TrimSuffix(path.Base(file), ".txt"), "_", "/")
			fmt.Fprintf(w, "\n%s\n%s\n\n%s\n", name, strings.Repeat("─", len(name)), strings.TrimSpace(string(text)))
			return err
		})
		if err != nil {
			return complain(std, err)
		}
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	return exitGood
}
