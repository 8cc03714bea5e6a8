package block

import (
	"embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed layouts/*/layout.toml layouts/*/*.csv
var layoutFiles embed.FS

// LayoutNames lists the layouts that come with the program.
func LayoutNames() []string { return []string{"lathermoor", "tiny"} }

// LayoutTexts are the files of a layout.
type LayoutTexts struct {
	Layout string
	Trains string // empty: no sequence
	Times  string // empty: order alone
}

// EmbeddedLayout returns the files of a layout that comes with the program, for reading or for a start of one's own.
func EmbeddedLayout(name string) (LayoutTexts, error) {
	if !slices.Contains(LayoutNames(), name) {
		return LayoutTexts{}, fmt.Errorf("block: no layout is called %s; there are %s", quoted(name), strings.Join(LayoutNames(), " and "))
	}
	var t LayoutTexts
	// order does not matter: each file goes to its own field
	for file, into := range map[string]*string{"layout.toml": &t.Layout, "trains.csv": &t.Trains, "timetable.csv": &t.Times} {
		text, err := layoutFiles.ReadFile("layouts/" + name + "/" + file)
		if err != nil {
			return LayoutTexts{}, fmt.Errorf("reading the layout %s: %w", name, err)
		}
		*into = string(text)
	}
	return t, nil
}

// EmbeddedHeader returns the header of a record of a layout that comes with the program.
func EmbeddedHeader(name string) (Header, error) {
	t, err := EmbeddedLayout(name)
	if err != nil {
		return Header{}, err
	}
	l, err := ReadLayout([]byte(t.Layout))
	if err != nil {
		return Header{}, fmt.Errorf("layout %s: %w", name, err)
	}
	return Header{Format: 1, Zone: "Europe/London", Layout: t.Layout, Books: BookTexts(l), Trains: t.Trains, Times: t.Times}, nil
}

// BookTexts returns the text of every embedded book that the lines of a layout use, by its name. What a book
// includes is written out in it, so that each reads by itself for ever. A book of the user's own is not among them:
// whoever read its file has its text.
func BookTexts(l *Layout) map[string]string {
	texts := make(map[string]string)
	for _, name := range l.BookNames() {
		if b, err := FindCodeBook(name); err == nil {
			texts[name] = string(b.Text())
		}
	}
	return texts
}

// BookNames lists the books that the lines of the layout use, in layout order.
func (l *Layout) BookNames() []string {
	var names []string
	for _, b := range l.Between {
		if !slices.Contains(names, b.Book) {
			names = append(names, b.Book)
		}
	}
	return names
}
