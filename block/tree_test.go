package block_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// topLevel is all that stands at the top of the tree.
var topLevel = []string{
	".ci", ".gitignore", "DEVELOPERS.md", "README.md", "block", "cmd", "go.mod", "go.sum", "sim", "sounds",
	"testdata", "web",
}

func TestTopOfTheTreeHoldsItsListOnly(t *testing.T) {
	for _, name := range kept(t) {
		if top, _, _ := strings.Cut(name, "/"); !slices.Contains(topLevel, top) {
			t.Errorf("%s: the top of the tree holds only %s", name, strings.Join(topLevel, " "))
		}
	}
}

// machinePath is a path that only one machine has. The test's own text must not hold one either.
var machinePath = regexp.MustCompile(`(^|[^\w.\-/])/(home|root|work|tmp|Users)/\w`)

func TestNoFileNamesAPathOfOneMachine(t *testing.T) {
	for _, name := range kept(t) {
		text, err := os.ReadFile(filepath.Join("..", name))
		if os.IsNotExist(err) {
			continue // removed here, not yet from the repository
		}
		require.NoError(t, err)
		if bytes.IndexByte(text, 0) >= 0 {
			continue // a picture or a sound
		}
		for i, line := range bytes.Split(text, []byte("\n")) {
			if found := machinePath.Find(line); found != nil {
				t.Errorf("%s:%d: holds a path of one machine, %q", name, i+1, found)
			}
		}
	}
}

func TestMachinePathsAreFound(t *testing.T) {
	for text, want := range map[string]bool{
		"cd /" + "work/main":              true,
		`dir = "/` + `home/owner/layout"`: true,
		"/" + "tmp/x":                     true,
		"at home/OS":                      false,
		"https://shed.test/box/OS":        false,
		"block/" + "work/x":               false,
		"$HOME/layouts, ~/layouts":        false,
	} {
		if got := machinePath.MatchString(text); got != want {
			t.Errorf("%q: found %v, want %v", text, got, want)
		}
	}
}

// kept lists the files that the repository keeps.
func kept(t *testing.T) []string {
	t.Helper()
	cmd := exec.Command("git", "ls-files", "-z")
	cmd.Dir = ".."
	out, err := cmd.Output()
	if err != nil {
		t.Skipf("this copy of the tree is no repository: %v", err)
	}
	names := strings.Split(strings.TrimSuffix(string(out), "\x00"), "\x00")
	require.Greater(t, len(names), 20, "files in the repository")
	return names
}
