package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"taillamp/web/paper"
)

// runPaper prints what hangs in the boxes of a layout.
func runPaper(_ context.Context, args []string, std stdio) int {
	fs := newFlags("paper")
	box := fs.String("box", "", "")
	size := fs.String("size", "A4", "")
	order := fs.Bool("order", false, "")
	out := fs.String("out", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	c := paper.Choice{Size: strings.ToUpper(*size), Times: !*order, Issued: time.Now()}
	if c.Size != "A4" && c.Size != "A5" {
		return complain(std, misuse("write --size A4 or --size A5", "paper: --size cannot be %q", *size))
	}
	if *out == "" {
		return complain(std, misuse("write --out DIR, the folder for the files", "paper: --out is missing"))
	}
	d, err := findDistrict(rest[0])
	if err != nil {
		return complain(std, err)
	}
	if *box != "" {
		if err := knownBox(d.rules, strings.ToUpper(*box)); err != nil {
			return complain(std, err)
		}
	}
	if err := os.MkdirAll(*out, 0o755); err != nil {
		return complain(std, unwritable(*out, err))
	}
	for _, b := range d.rules.Layout().Boxes {
		if *box != "" && !strings.EqualFold(*box, string(b.ID)) {
			continue
		}
		file := filepath.Join(*out, string(b.ID)+"-"+c.Size+".pdf")
		if err := writeFile(file, func(w io.Writer) error { return paper.WriteBox(w, d.rules, b.ID, c) }); err != nil {
			return complain(std, err)
		}
		fmt.Fprintln(std.Out, file)
	}
	return exitGood
}
