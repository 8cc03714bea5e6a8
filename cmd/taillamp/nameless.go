package main

import (
	"context"

	"taillamp/block"
	"taillamp/block/register"
)

// runNameless writes a copy of a sitting without the names of its people. No time, no signal and no finding is changed by
// it: a name stands only where somebody signed on.
func runNameless(_ context.Context, args []string, std stdio) int {
	fs := newFlags("nameless")
	out := fs.String("out", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	if *out == "" {
		return complain(std, misuse("taillamp help nameless", "nameless lacks --out FILE, the copy to write"))
	}
	s, err := openSitting(rest[0])
	if err != nil {
		return complain(std, err)
	}
	text, sum, err := register.AppendHeader(nil, s.header)
	if err != nil {
		return complain(std, err)
	}
	for e, broken := range s.entries() {
		if broken != nil {
			return complain(std, s.broken(broken)) // half a copy is none
		}
		if e.Event.Do == block.Duty && !e.Event.Off {
			e.Event.Words = ""
		}
		if text, sum, err = register.AppendEntry(text, sum, e); err != nil {
			return complain(std, err)
		}
	}
	if err := writeNew(*out, text); err != nil {
		return complain(std, err)
	}
	return exitGood
}
