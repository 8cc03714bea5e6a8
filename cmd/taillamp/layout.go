package main

import (
	"errors"
	"os"
	"path/filepath"
	"slices"

	"taillamp/block"
)

// district is a layout with all that belongs to it, read from the program or from files.
type district struct {
	header   block.Header
	rules    *block.Rules
	warnings block.Flaws
}

// findDistrict reads an embedded layout or a layout file. Faults of files come as block.Flaws, each with its file.
func findDistrict(name string) (district, error) {
	if slices.Contains(block.LayoutNames(), name) {
		h, err := block.EmbeddedHeader(name)
		if err != nil {
			return district{}, err
		}
		return build(name, h)
	}
	h, err := readLayout(name)
	if err != nil {
		return district{}, err
	}
	return build(name, h)
}

// build makes rules of a header and asks the layout for what is legal but risky.
func build(file string, h block.Header) (district, error) {
	rules, err := h.Rules()
	if err != nil {
		return district{}, bad("%s: %s", file, err)
	}
	_, warnings := rules.Layout().Check()
	return district{header: h, rules: rules, warnings: warnings.In(file)}, nil
}

// readLayout reads a layout file and the books and sequence that it names, which lie beside it. Faults come all at
// once, as block.Flaws.
func readLayout(file string) (block.Header, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		if filepath.Ext(file) == "" {
			return block.Header{}, fault{code: exitMaterial, what: file + ": there is no such layout",
				hint: "write " + list(block.LayoutNames()) + ", or the path of a layout file"}
		}
		return block.Header{}, unreadable(file, err)
	}
	l, err := block.ReadLayout(text)
	if err != nil {
		return block.Header{}, flawsIn(file, err)
	}
	r := layoutReader{dir: filepath.Dir(file)}
	h := block.Header{Format: 1, Zone: "Europe/London", Layout: string(text), Books: r.books(l)}
	h.Trains, h.Times = r.sequence(l)
	if len(r.flaws) > 0 {
		return block.Header{}, r.flaws
	}
	return h, nil
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
	dir   string
	flaws block.Flaws
}

func (r *layoutReader) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(r.dir, name)
}

// read reads a file that a layout names. One that is not there is a flaw.
func (r *layoutReader) read(name, field string) ([]byte, bool) {
	text, err := os.ReadFile(r.path(name))
	if err != nil {
		r.flaws = append(r.flaws, block.Flaw{File: r.path(name), Field: field, What: "the file cannot be read: " + reason(err),
			Right: "put it beside the layout, or write its path there"})
		return nil, false
	}
	return text, true
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
		text, ok := r.read(name, "book")
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
	rows, ok := r.read(l.Trains, "trains")
	if !ok {
		return "", ""
	}
	var timed []byte
	if l.Times != "" {
		if timed, ok = r.read(l.Times, "times"); !ok {
			return "", ""
		}
	}
	_, err := block.ReadTimetable(rows, timed)
	var flaws block.Flaws
	if errors.As(err, &flaws) {
		for _, f := range flaws {
			f.File = r.path(map[string]string{"trains": l.Trains, "times": l.Times}[f.File])
			r.flaws = append(r.flaws, f)
		}
	}
	return string(rows), string(timed)
}
