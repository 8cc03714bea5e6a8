package block

import (
	"embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed books/*.toml
var bookFiles embed.FS

// parts are embedded files that are no books of their own: others include them.
var parts = []string{"common", "methods"}

// BookNames lists the embedded books, the one of 1960 first.
func BookNames() []string {
	return []string{"1960-letters", "1962-numbers", "1969-numbers", "clearing-house", "1990-rules"}
}

// shelf holds the embedded books, read once; nobody changes them.
var shelf = mustReadBooks(BookNames())

func mustReadBooks(names []string) []*CodeBook {
	var books []*CodeBook
	for _, name := range names {
		b, err := embeddedBook(name, nil)
		if err != nil {
			panic("block: the embedded book " + name + ": " + err.Error())
		}
		books = append(books, b)
	}
	return books
}

// FindCodeBook returns the embedded book of that name. The caller must not change it.
func FindCodeBook(name string) (*CodeBook, error) {
	for _, b := range shelf {
		if b.Name == name {
			return b, nil
		}
	}
	return nil, fmt.Errorf("block: no code book is called %s; there are %s", quoted(name), strings.Join(BookNames(), ", "))
}

// embeddedBook reads an embedded book or part of one.
func embeddedBook(name string, within []string) (*CodeBook, error) {
	text, err := bookFiles.ReadFile("books/" + name + ".toml")
	if err != nil {
		return nil, fmt.Errorf("block: no code book is called %s", quoted(name))
	}
	return readBook(text, append(slices.Clone(within), name))
}
