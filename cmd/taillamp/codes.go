package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"taillamp/block"
)

// runCodes prints the bell signals of a code book: all, those of some beats, or those whose meaning has some words.
func runCodes(_ context.Context, args []string, std stdio) int {
	fs := newFlags("codes")
	name := fs.String("book", "1960-letters", "")
	asJSON := fs.Bool("json", false, "")
	rest, err := parse(fs, args, 0, 99)
	if err != nil {
		return complain(std, err)
	}
	book, err := findBook(*name)
	if err != nil {
		return complain(std, err)
	}
	codes := askedCodes(book, rest)
	if len(codes) == 0 {
		return complain(std, bad("%s has no signal %q", book.Name, strings.Join(rest, " ")))
	}
	w := &errWriter{w: std.Out}
	if *asJSON {
		for _, c := range codes {
			writeJSON(w, codeOf(book, c))
		}
	} else {
		showCodes(w, book, codes)
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	return exitGood
}

// findBook finds an embedded book, or reads a file.
func findBook(name string) (*block.CodeBook, error) {
	if slices.Contains(block.BookNames(), name) {
		return block.FindCodeBook(name)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		if filepath.Ext(name) == "" {
			return nil, fault{code: exitMaterial, what: fmt.Sprintf("no code book is called %q", name),
				hint: "write " + list(block.BookNames()) + ", or the path of a book of your own"}
		}
		return nil, unreadable(name, err)
	}
	book, err := block.ReadCodeBook(text)
	if err != nil {
		return nil, flawsIn(name, err)
	}
	return book, nil
}

// askedCodes are the codes of a book that answer to what was asked: beats, else words of meaning, key or class.
func askedCodes(book *block.CodeBook, asked []string) []block.Code {
	if len(asked) == 0 {
		return book.Codes
	}
	if b, err := block.ParseBeats(asked[0]); err == nil && len(asked) == 1 {
		return book.Find(b, block.EitherWay)
	}
	var found []block.Code
	for _, c := range book.Codes {
		if hasWords(c.Means+" "+string(c.Key)+" class "+c.Class, asked) {
			found = append(found, c)
		}
	}
	return found
}

// hasWords tells whether a text has every one of some words, capitals or not.
func hasWords(text string, words []string) bool {
	text = strings.ToLower(text)
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, strings.ToLower(w)) })
}

// codesWidth is what the list of codes is wide: it is hung up beside instruments, and old terminals have no more.
const codesWidth = 80

// showCodes writes codes for people: the beats, the class, what they mean; below it how they are answered and where
// that stands.
func showCodes(w io.Writer, book *block.CodeBook, codes []block.Code) {
	for _, l := range wrap(book.Name+": "+book.Title, codesWidth) {
		fmt.Fprintln(w, l)
	}
	fmt.Fprintln(w)
	const left = 17
	var cites []string
	indent := strings.Repeat(" ", left)
	for _, c := range codes {
		head := pad(pad(c.Beats.String(), 13)+c.Class, left)
		for _, l := range wrap(c.Means, codesWidth-left) {
			fmt.Fprintln(w, head+l)
			head = indent
		}
		for _, l := range wrap(manner(c)+"; "+source(c.Cite, c.Grade), codesWidth-left-2) {
			fmt.Fprintln(w, indent+"  "+l)
		}
		cites = append(cites, c.Cite)
	}
	showSources(w, cites, book.Sources)
}

// manner says how a code is sent and answered.
func manner(c block.Code) string {
	way := map[block.Bearing]string{block.ToAdvance: "forward", block.ToRear: "back", block.EitherWay: "either way"}[c.Bearing]
	attention := "no call attention"
	if c.Attention {
		attention = "after call attention"
	}
	answer := "answered by repetition"
	switch c.Answer {
	case "repeat":
	case "none":
		answer = "not answered"
	default:
		answer = "answered by " + strings.ReplaceAll(c.Answer, "-", " ")
	}
	parts := []string{way, attention, answer}
	if c.Conditions != "" {
		parts = append(parts, c.Conditions)
	}
	if c.Regulation != "" {
		parts = append(parts, c.Regulation)
	}
	return strings.Join(parts, ", ")
}

// codeJSON is a line of `codes --json`: the members of a code book's file.
type codeJSON struct {
	Book       string        `json:"book"`
	Key        block.CodeKey `json:"key"`
	Beats      block.Beats   `json:"beats"`
	Means      string        `json:"means"`
	Class      string        `json:"class,omitempty"`
	Train      bool          `json:"train"`
	Bearing    block.Bearing `json:"bearing"`
	Attention  bool          `json:"attention"`
	Answer     string        `json:"answer"`
	Conditions string        `json:"conditions,omitempty"`
	Regulation string        `json:"regulation,omitempty"`
	Cite       string        `json:"cite"`
	Grade      string        `json:"grade"`
}

func codeOf(book *block.CodeBook, c block.Code) codeJSON {
	return codeJSON{Book: book.Name, Key: c.Key, Beats: c.Beats, Means: c.Means, Class: c.Class, Train: c.Train,
		Bearing: c.Bearing, Attention: c.Attention, Answer: c.Answer, Conditions: c.Conditions, Regulation: c.Regulation,
		Cite: c.Cite, Grade: c.Grade}
}
