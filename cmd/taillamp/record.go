package main

import (
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// sittingEnding is how the file of a sitting is named.
const sittingEnding = ".jsonl"

// record is the file of a sitting, opened for reading.
type record struct {
	file   string
	header block.Header
	rules  *block.Rules
}

// openSitting reads the header of a record. The entries are read anew for every fold, because a record may be larger
// than anybody wants to hold.
func openSitting(file string) (*record, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, unreadable(file, err)
	}
	defer f.Close()
	r, err := register.NewReader(f)
	if err != nil {
		return nil, noRecord(file, err)
	}
	rules, err := r.Header().Rules()
	if err != nil {
		return nil, bad("%s: %s", file, err)
	}
	return &record{file: file, header: r.Header(), rules: rules}, nil
}

// noRecord says why a file is no record that this program reads.
func noRecord(file string, err error) fault {
	switch {
	case errors.Is(err, register.ErrNewer):
		return fault{code: exitMaterial, what: file + " was written by a newer program than this", hint: "read it with that one"}
	case errors.Is(err, register.ErrNotARecord):
		return bad("%s is not the record of a sitting: its first line is no header, or is damaged", file)
	}
	return unreadable(file, err)
}

// entries yields the record from its beginning, up to the first fault.
func (s *record) entries() iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		f, err := os.Open(s.file)
		if err != nil {
			yield(block.Entry{}, unreadable(s.file, err))
			return
		}
		defer f.Close()
		r, err := register.NewReader(f)
		if err != nil {
			yield(block.Entry{}, noRecord(s.file, err))
			return
		}
		for e, err := range r.Entries() {
			if !yield(e, err) {
				return
			}
		}
	}
}

// broken puts an error met within a record in words: where it is and what still reads.
func (s *record) broken(err error) fault {
	var d *register.DamagedError
	if !errors.As(err, &d) {
		return unreadable(s.file, err)
	}
	what := fmt.Sprintf("%s: line %d %s", s.file, d.Line, d.What)
	if d.Seq == 0 {
		return fault{code: exitMaterial, what: what + "; no entry before it can be read"}
	}
	return fault{code: exitMaterial, what: fmt.Sprintf("%s; what is above is read from the lines before it, entries 1 to %d", what, d.Seq)}
}

// writeSitting writes entries as the record of a sitting: what register and review read. A record that is there
// already is left as it is.
func writeSitting(dir, name string, h block.Header, entries []block.Entry) error {
	h.Sitting, h.Program = name, program()
	text, sum, err := register.AppendHeader(nil, h)
	if err != nil {
		return err
	}
	open := block.Entry{Seq: 1, Mark: block.Open, At: h.Began, Epoch: "notes", Program: program()}
	end := block.Entry{Seq: uint64(len(entries)) + 2, Mark: block.Close, At: lastOf(entries, h.Began)}
	for _, e := range append(append([]block.Entry{open}, entries...), end) {
		if text, sum, err = register.AppendEntry(text, sum, e); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return unwritable(dir, err)
	}
	return writeNew(filepath.Join(dir, name+sittingEnding), text)
}

func lastOf(entries []block.Entry, began time.Time) time.Time {
	if len(entries) == 0 {
		return began
	}
	return entries[len(entries)-1].Event.At
}

// writeNew writes a file that must not be there yet.
func writeNew(file string, text []byte) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return could("take it away, or name another folder", "%s is there already", file)
	}
	if err != nil {
		return unwritable(file, err)
	}
	if _, err := f.Write(text); err != nil {
		f.Close()
		return unwritable(file, err)
	}
	if err := f.Close(); err != nil {
		return unwritable(file, err)
	}
	return nil
}
