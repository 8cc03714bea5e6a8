package main

import (
	"context"
	"io"
	"os"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/paper"
)

// runRegister writes the train register of one box, or of every box.
func runRegister(_ context.Context, args []string, std stdio) int {
	fs := newFlags("register")
	box := fs.String("box", "", "")
	asCSV := fs.Bool("csv", false, "")
	asJSON := fs.Bool("json", false, "")
	asPDF := fs.Bool("pdf", false, "")
	out := fs.String("out", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	if err := oneForm(map[string]bool{"--csv": *asCSV, "--json": *asJSON, "--pdf": *asPDF}); err != nil {
		return complain(std, err)
	}
	if *asPDF && *out == "" {
		return complain(std, misuse("name it with --out", "register: --pdf is written to a file; --out is lacking"))
	}
	s, err := openSitting(rest[0])
	if err != nil {
		return complain(std, err)
	}
	if err := knownBox(s.rules, *box); err != nil {
		return complain(std, err)
	}
	if *asCSV && *box == "" {
		return complain(std, misuse("name one of "+list(boxIDs(s.rules)), "register: --csv is of one box; --box is lacking"))
	}
	write := s.writePages
	switch {
	case *asCSV:
		write = func(w io.Writer, b *register.Book) error { return b.WriteCSV(w) }
	case *asJSON:
		write = s.writeJSON
	}
	boxes := boxIDs(s.rules)
	if *box != "" {
		boxes = []string{*box}
	}
	if *asPDF {
		broken, err := s.writePDF(*out, boxes)
		if err == nil {
			err = broken
		}
		if err != nil {
			return complain(std, err)
		}
		return exitGood
	}
	broken, err := s.writeBooks(std, *out, boxes, write)
	if err != nil {
		return complain(std, err)
	}
	if broken != nil {
		return complain(std, broken)
	}
	return exitGood
}

// writeBooks writes the books of boxes to a file or to the standard output. broken is where the record broke off.
func (s *record) writeBooks(std stdio, out string, boxes []string, write func(io.Writer, *register.Book) error) (broken, err error) {
	to := std.Out
	if out != "" {
		f, err := os.Create(out)
		if err != nil {
			return nil, unwritable(out, err)
		}
		defer func() {
			if closed := f.Close(); closed != nil && err == nil {
				err = unwritable(out, closed)
			}
		}()
		to = f
	}
	w := &errWriter{w: to}
	for _, id := range boxes {
		b, bad := register.Of(s.rules, block.BoxID(id), s.header.Began, s.entries())
		if bad != nil {
			broken = s.broken(bad)
		}
		if err := write(w, b); err != nil {
			return broken, unwritable(out, err)
		}
	}
	return broken, w.err
}

// writeJSON writes a book as JSON Lines, each naming its box.
func (s *record) writeJSON(w io.Writer, b *register.Book) error {
	out := &errWriter{w: w}
	for _, l := range b.Lines() {
		writeJSON(out, struct {
			Box block.BoxID `json:"box"`
			register.Line
		}{b.Box, l})
	}
	return out.err
}

// oneForm complains if a book is asked for in two forms at once.
func oneForm(asked map[string]bool) error {
	var forms []string
	for _, form := range []string{"--csv", "--json", "--pdf"} {
		if asked[form] {
			forms = append(forms, form)
		}
	}
	if len(forms) > 1 {
		return misuse("taillamp help register", "register: %s and %s cannot both be meant", forms[0], forms[1])
	}
	return nil
}

// writePDF prints the books of boxes into a file. broken is where the record broke off.
func (s *record) writePDF(file string, boxes []string) (broken, err error) {
	var books []*register.Book
	for _, id := range boxes {
		b, bad := register.Of(s.rules, block.BoxID(id), s.header.Began, s.entries())
		if bad != nil {
			broken = s.broken(bad)
		}
		if len(boxes) > 1 && len(b.Rows()) == 0 {
			continue // a box that was out all day has no book
		}
		books = append(books, b)
	}
	about := paper.About{Title: s.rules.Layout().Title, Sitting: s.header.Sitting,
		Began: register.ClockOf(s.rules.Layout(), s.header.Began).At(s.header.Began)}
	return broken, writeFile(file, func(w io.Writer) error { return paper.WriteBooks(w, about, books...) })
}
