package main

import (
	"os"
	"path/filepath"
	"runtime"
)

// learnersFolder is where, in the folder of the sittings, what learners have tried is kept.
const learnersFolder = "learners"

// sittingsFolder is where sittings are kept unless --dir names another place: beside what other programs keep for
// this user. XDG_DATA_HOME is as in the XDG Base Directory Specification, 0.8.
func sittingsFolder() (string, error) {
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) { // a relative one is to be ignored, says the specification
		return filepath.Join(dir, "taillamp"), nil
	}
	if dir := os.Getenv("LocalAppData"); runtime.GOOS == "windows" && dir != "" {
		return filepath.Join(dir, "taillamp"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", could("name a folder with --dir", "the folder of the user is not known")
	}
	if runtime.GOOS == "darwin" {
		return filepath.Join(home, "Library", "Application Support", "taillamp"), nil
	}
	return filepath.Join(home, ".local", "share", "taillamp"), nil
}
