package main

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
)

// version is the number of this program. A record says which program wrote it.
const version = "0.1.0"

// program is the name of this program as records carry it: "taillamp 0.1.0 3f9c2ab", the last word being the change
// of the source that it was built from, with + if more had been altered; left out if the build does not know.
func program() string {
	name := "taillamp " + version
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	revision, altered := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 7:
			revision = " " + s.Value[:7]
		case s.Key == "vcs.modified" && s.Value == "true":
			altered = "+"
		}
	}
	if revision == "" {
		return name
	}
	return name + revision + altered
}

// runVersion says which program this is.
func runVersion(_ context.Context, args []string, std stdio) int {
	fs := newFlags("version")
	licences := fs.Bool("licences", false, "")
	if _, err := parse(fs, args, 0, 0); err != nil {
		return complain(std, err)
	}
	fmt.Fprintf(std.Out, "%s, built with %s for %s/%s\n", program(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	if *licences {
		return showLicences(std)
	}
	return exitGood
}
