package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whoever hands on a binary must hand on the terms of all that is in it, with the host's loudspeaker or without.
func TestEveryModuleInTheProgramHasItsLicence(t *testing.T) {
	out, err := exec.Command("go", "list", "-tags", "speaker", "-deps", "-f", "{{with .Module}}{{.Path}}{{end}}", ".").Output()
	require.NoError(t, err)
	modules := map[string]bool{}
	for _, path := range strings.Fields(string(out)) {
		modules[path] = path != "taillamp"
	}
	require.True(t, modules["github.com/pelletier/go-toml/v2"], "the modules were listed")
	for path, foreign := range modules {
		if _, err := os.Stat(filepath.Join("licences", strings.ReplaceAll(path, "/", "_")+".txt")); foreign && err != nil {
			t.Errorf("%s: its licence is not in licences/", path)
		}
	}
}
