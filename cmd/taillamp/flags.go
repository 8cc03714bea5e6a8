package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
)

// newFlags is the flags of one word. What is wrong with them is said by parse, in our own words.
func newFlags(word string) *flag.FlagSet {
	fs := flag.NewFlagSet(word, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	return fs
}

// parse reads flags on either side of the arguments and gives the arguments, of which there must be so many. Behind
// a lone -- everything is an argument.
func parse(fs *flag.FlagSet, args []string, least, most int) ([]string, error) {
	help := "taillamp help " + fs.Name()
	var rest []string
	for {
		if err := fs.Parse(args); err != nil {
			return nil, misuse(help, "%s: %s", fs.Name(), flagTrouble(err))
		}
		left := fs.Args()
		if n := len(args) - len(left); n > 0 && args[n-1] == "--" {
			rest = append(rest, left...)
			break
		}
		if len(left) == 0 {
			break
		}
		rest, args = append(rest, left[0]), left[1:]
	}
	if len(rest) < least {
		return nil, misuse(help, "%s lacks its %s", fs.Name(), argumentOf(fs.Name()))
	}
	if len(rest) > most {
		return nil, misuse(help, "%s can do nothing with %q", fs.Name(), rest[most])
	}
	return rest, nil
}

// argumentOf is what usage.txt calls the first argument of a word: NOTES, SITTING, LAYOUT.
func argumentOf(word string) string {
	for _, f := range strings.Fields(helpOn(word)) {
		if f == strings.ToUpper(f) && !strings.HasPrefix(f, "[") && !strings.HasPrefix(f, "-") {
			return f
		}
	}
	return "argument"
}

// flagTrouble puts what the flag package says in our words. Only one dash is in its messages; we write two.
func flagTrouble(err error) string {
	if errors.Is(err, flag.ErrHelp) {
		return "--help stands alone"
	}
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok {
		return fmt.Sprintf("there is no flag --%s", strings.TrimPrefix(name, "-"))
	}
	if name, ok := strings.CutPrefix(text, "flag needs an argument: -"); ok {
		return fmt.Sprintf("--%s lacks its value", name)
	}
	if value, rest, ok := strings.Cut(text, " for flag -"); ok {
		value = strings.TrimPrefix(strings.TrimPrefix(value, "invalid value "), "invalid boolean value ")
		name, _, _ := strings.Cut(rest, ":")
		return fmt.Sprintf("--%s cannot be %s", name, value)
	}
	if value, rest, ok := strings.Cut(text, " for -"); ok { // of a boolean flag
		name, _, _ := strings.Cut(rest, ":")
		return fmt.Sprintf("--%s cannot be %s", name, strings.TrimPrefix(value, "invalid boolean value "))
	}
	return text
}
