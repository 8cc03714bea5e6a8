package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"taillamp/block/register"
)

// runGraph draws a sitting as a train graph.
func runGraph(_ context.Context, args []string, std stdio) int {
	fs := newFlags("graph")
	out := fs.String("out", "", "")
	inWords := fs.Bool("words", false, "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	s, err := openSitting(rest[0])
	if err != nil {
		return complain(std, err)
	}
	g, broken := register.GraphOf(s.rules, s.header.Began, s.entries())
	write := g.WriteSVG
	if *inWords {
		write = func(w io.Writer) error { return tellDelays(w, g) }
	}
	if *out == "" {
		err = write(std.Out)
	} else {
		err = writeFile(*out, write)
	}
	if err != nil {
		return complain(std, err)
	}
	if broken != nil {
		return complain(std, s.broken(broken))
	}
	return exitGood
}

func writeFile(file string, write func(io.Writer) error) error {
	f, err := os.Create(file)
	if err != nil {
		return unwritable(file, err)
	}
	if err := write(f); err != nil {
		f.Close()
		return unwritable(file, err)
	}
	if err := f.Close(); err != nil {
		return unwritable(file, err)
	}
	return nil
}

// tellDelays says what delayed what: the longest chain, what each beginning cost, then every delay in order of time.
func tellDelays(w io.Writer, g *register.Graph) error {
	out := &errWriter{w: w}
	delays := g.Delays()
	if len(delays) == 0 {
		fmt.Fprintln(out, "no train that has booked times lost any")
		return out.err
	}
	paragraph := func(words, indent string) {
		for i, l := range wrap(words, pageWidth-len(indent)) {
			if i > 0 {
				l = indent + l
			}
			fmt.Fprintln(out, l)
		}
	}
	fmt.Fprintln(out, "The longest chain")
	paragraph(strings.Join(g.Chain(delays), " "), "")
	fmt.Fprintln(out, "\nWhat each beginning cost")
	for _, b := range register.Beginnings(delays) {
		paragraph(fmt.Sprintf("%.0f min: %s", (b.Own+b.Caused).Minutes(), g.Tell(delays[b.Delay])), "        ")
	}
	fmt.Fprintln(out, "\nEvery delay")
	for n, d := range delays {
		words := fmt.Sprintf("%d. %s", n+1, g.Tell(d))
		if d.Led >= 0 {
			words += fmt.Sprintf(" This goes back to %d.", d.Led+1)
		}
		paragraph(words, "   ")
	}
	return out.err
}
