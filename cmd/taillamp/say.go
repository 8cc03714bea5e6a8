package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// fault is what the program has to say to somebody when it cannot do what was asked: one sentence of what is wrong,
// perhaps what to do about it, and the exit status that it ends in.
type fault struct {
	code int
	what string
	hint string
}

func (f fault) Error() string { return f.what }

// misuse is a command line that cannot be meant.
func misuse(hint, format string, a ...any) fault {
	return fault{code: exitUsage, what: fmt.Sprintf(format, a...), hint: hint}
}

// bad is material that cannot be used as it is.
func bad(format string, a ...any) fault {
	return fault{code: exitMaterial, what: fmt.Sprintf(format, a...)}
}

// could is what the machine would not do.
func could(hint, format string, a ...any) fault {
	return fault{code: exitCould, what: fmt.Sprintf(format, a...), hint: hint}
}

// complain says what is wrong and gives the exit status. An error that nobody put into words yet is the machine's.
func complain(std stdio, err error) int {
	f := fault{code: exitCould, what: err.Error()}
	errors.As(err, &f)
	fmt.Fprintln(std.Err, "taillamp: "+f.what)
	if f.hint != "" {
		fmt.Fprintln(std.Err, "hint: "+f.hint)
	}
	return f.code
}

// unreadable says why a file could not be read.
func unreadable(file string, err error) fault {
	if errors.Is(err, fs.ErrNotExist) {
		return bad("%s: there is no such file", file)
	}
	return bad("%s cannot be read: %s", file, reason(err))
}

// unwritable says why a file could not be written.
func unwritable(file string, err error) fault {
	return could("", "%s cannot be written: %s", file, reason(err))
}

// reason is what the machine says about a file, without the path and the system call before it.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// list joins names for people: "a, b or c".
func list(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
