package main

import (
	"context"
	"os"

	"taillamp/block/register"
)

// runGraph draws a sitting as a train graph.
func runGraph(_ context.Context, args []string, std stdio) int {
	fs := newFlags("graph")
	out := fs.String("out", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	s, err := openSitting(rest[0])
	if err != nil {
		return complain(std, err)
	}
	g, broken := register.GraphOf(s.rules, s.header.Began, s.entries())
	if *out == "" {
		err = g.WriteSVG(std.Out)
	} else {
		err = writeGraph(*out, g)
	}
	if err != nil {
		return complain(std, err)
	}
	if broken != nil {
		return complain(std, s.broken(broken))
	}
	return exitGood
}

func writeGraph(file string, g *register.Graph) error {
	f, err := os.Create(file)
	if err != nil {
		return unwritable(file, err)
	}
	if err := g.WriteSVG(f); err != nil {
		f.Close()
		return unwritable(file, err)
	}
	if err := f.Close(); err != nil {
		return unwritable(file, err)
	}
	return nil
}
