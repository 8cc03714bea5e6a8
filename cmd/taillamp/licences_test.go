package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whoever hands on a binary must hand on the terms of all that is in it, with the host's loudspeaker or without, and
// with what several machines share.
func TestEveryModuleInTheProgramHasItsLicence(t *testing.T) {
	licensed(t, "speaker", "licences")
	licensed(t, "speaker,fleet", "licences", "licences/fleet")
}

// licensed looks for the terms of every module of a build in some folders.
func licensed(t *testing.T, tags string, folders ...string) {
	t.Helper()
	out, err := exec.Command("go", "list", "-tags", tags, "-deps", "-f", "{{with .Module}}{{.Path}}{{end}}", ".").Output()
	require.NoError(t, err)
	modules := map[string]bool{}
	for _, path := range strings.Fields(string(out)) {
		modules[path] = path != "taillamp"
	}
	require.True(t, modules["github.com/pelletier/go-toml/v2"], "the modules were listed")
	for path, foreign := range modules {
		there := slices.ContainsFunc(folders, func(dir string) bool {
			_, err := os.Stat(filepath.Join(dir, strings.ReplaceAll(path, "/", "_")+".txt"))
			return err == nil
		})
		if foreign && !there {
			t.Errorf("%s: its licence is not in %s", path, strings.Join(folders, " or "))
		}
	}
}
