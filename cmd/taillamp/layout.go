package main

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"taillamp/block"
	"taillamp/block/register"
)

// district is a layout with all that belongs to it, read from the program or from files.
type district struct {
	header   block.Header
	rules    *block.Rules
	warnings block.Flaws
}

// findDistrict reads an embedded layout or a layout file with all that it names, and checks that they fit. Faults of
// files come all at once as block.Flaws, each with its file.
func findDistrict(name string) (district, error) {
	h, r, err := readFiles(name)
	if err != nil {
		return district{}, err
	}
	r.check(h)
	if len(r.flaws) > 0 {
		return district{}, r.flaws
	}
	rules, err := h.Rules()
	if err != nil {
		return district{}, bad("%s: %s", name, err)
	}
	return district{header: h, rules: rules, warnings: r.warnings}, nil
}

// readLayout is the header of a record of a layout file.
func readLayout(file string) (block.Header, error) {
	d, err := findDistrict(file)
	return d.header, err
}

// readFiles reads a layout and what it names. What can be read although something else cannot is in the header.
func readFiles(name string) (block.Header, *layoutReader, error) {
	r := &layoutReader{file: name, dir: filepath.Dir(name)}
	if slices.Contains(block.LayoutNames(), name) {
		h, err := block.EmbeddedHeader(name)
		return h, r, err
	}
	text, err := os.ReadFile(name)
	if err != nil {
		if filepath.Ext(name) == "" {
			return block.Header{}, nil, fault{code: exitMaterial, what: name + ": there is no such layout",
				hint: "write " + list(block.LayoutNames()) + ", or the path of a layout file"}
		}
		return block.Header{}, nil, unreadable(name, err)
	}
	l, err := block.ReadLayout(text)
	if err != nil {
		return block.Header{}, nil, flawsIn(name, err)
	}
	h := block.Header{Format: register.Format, Zone: "Europe/London", Layout: string(text), Books: r.books(l)}
	h.Trains, h.Times = r.sequence(l)
	return h, r, nil
}

// flawsIn puts the name of the file to flaws.
func flawsIn(file string, err error) error {
	var flaws block.Flaws
	if errors.As(err, &flaws) {
		return flaws.In(file)
	}
	return bad("%s: %s", file, err)
}

// layoutReader reads what a layout file names.
type layoutReader struct {
	file     string // the layout
	dir      string
	flaws    block.Flaws
	warnings block.Flaws
}

// check asks whether the parts fit, and what is legal but risky.
func (r *layoutReader) check(h block.Header) {
	l, err := block.ReadLayout([]byte(h.Layout))
	if err != nil {
		r.keep(r.file, err)
		return
	}
	_, risks := l.Check()
	wrong, alike := checkVoices(l)
	r.flaws = append(r.flaws, wrong.In(r.file)...)
	r.warnings = append(append(r.warnings, risks.In(r.file)...), alike.In(r.file)...)
	if h.Trains == "" || len(r.flaws) > 0 {
		return // what has flaws of its own need not fit
	}
	day, err := block.ReadTimetable([]byte(h.Trains), []byte(h.Times))
	if err != nil {
		r.keep(r.file, err)
		return
	}
	unfit, crowded := l.CheckSequence(day, booksOf(h))
	r.flaws = append(r.flaws, r.ofSequence(l, unfit)...)
	r.warnings = append(r.warnings, crowded.In(r.file)...)
}

// booksOf reads the books of a header, each by the name that the layout gives it. They were checked when they came in.
func booksOf(h block.Header) []*block.CodeBook {
	var books []*block.CodeBook
	for _, name := range slices.Sorted(maps.Keys(h.Books)) {
		if b, err := block.ReadCodeBook([]byte(h.Books[name])); err == nil {
			b.Name = name
			books = append(books, b)
		}
	}
	return books
}

// ofSequence gives the flaws of a sequence the names of its files.
func (r *layoutReader) ofSequence(l *block.Layout, flaws block.Flaws) block.Flaws {
	out := slices.Clone(flaws)
	for i, f := range out {
		switch f.File {
		case "trains":
			out[i].File = r.path(l.Trains)
		case "times":
			out[i].File = r.path(l.Times)
		}
	}
	return out
}

func (r *layoutReader) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(r.dir, name)
}

// read reads a file that a layout names. One that is not there is a flaw of the line that names it.
func (r *layoutReader) read(l *block.Layout, name, field string) ([]byte, bool) {
	text, err := os.ReadFile(r.path(name))
	if err != nil {
		r.flaws = append(r.flaws, block.Flaw{File: r.file, Line: l.Line(field), Field: field,
			What: fmt.Sprintf("%s cannot be read: %s", r.path(name), reason(err)), Right: "put it beside the layout, or write its path"})
		return nil, false
	}
	return text, true
}

// bookField is where the layout first names a code book.
func bookField(l *block.Layout, name string) string {
	for i, b := range l.Between {
		if b.Book == name && l.Book != name {
			return fmt.Sprintf("between[%d].book", i)
		}
	}
	return "book"
}

// keep adds the flaws of a file.
func (r *layoutReader) keep(file string, err error) {
	var flaws block.Flaws
	if errors.As(flawsIn(file, err), &flaws) {
		r.flaws = append(r.flaws, flaws...)
		return
	}
	r.flaws = append(r.flaws, block.Flaw{File: file, What: err.Error()})
}

// books are the texts of every code book that the lines use, embedded ones and the owner's own.
func (r *layoutReader) books(l *block.Layout) map[string]string {
	texts := block.BookTexts(l)
	for _, name := range l.BookNames() {
		if _, embedded := texts[name]; embedded {
			continue
		}
		text, ok := r.read(l, name, bookField(l, name))
		if !ok {
			continue
		}
		b, err := block.ReadCodeBook(text)
		if err != nil {
			r.keep(r.path(name), err)
			continue
		}
		texts[name] = string(b.Text()) // what it includes is written out, so that it reads by itself for ever
	}
	return texts
}

// sequence is the texts of the trains and their times.
func (r *layoutReader) sequence(l *block.Layout) (trains, times string) {
	if l.Trains == "" {
		return "", ""
	}
	rows, ok := r.read(l, l.Trains, "trains")
	if !ok {
		return "", ""
	}
	var timed []byte
	if l.Times != "" {
		if timed, ok = r.read(l, l.Times, "times"); !ok {
			return "", ""
		}
	}
	_, err := block.ReadTimetable(rows, timed)
	var flaws block.Flaws
	if errors.As(err, &flaws) {
		r.flaws = append(r.flaws, r.ofSequence(l, flaws)...)
	}
	return string(rows), string(timed)
}
