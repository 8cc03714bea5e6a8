package block

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Flaw is one thing that is wrong in a file, or legal but risky.
type Flaw struct {
	File  string `json:"file,omitempty"` // empty until somebody who knows it says it
	Line  int    `json:"line,omitempty"` // of a sequence the row; the heading is row 1
	Field string `json:"field,omitempty"`
	What  string `json:"what"`  // what is wrong
	Right string `json:"right"` // what would be right
}

// String gives the flaw in one sentence: where, what is wrong; what would be right.
func (f Flaw) String() string {
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File + ": ")
	}
	if f.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", f.Line)
	}
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	b.WriteString(f.What)
	if f.Right != "" {
		b.WriteString("; " + f.Right)
	}
	return b.String()
}

// Flaws is every flaw of a file, as one error.
type Flaws []Flaw

// Error gives one flaw a line.
func (f Flaws) Error() string {
	lines := make([]string, len(f))
	for i, x := range f {
		lines[i] = x.String()
	}
	return strings.Join(lines, "\n")
}

// In returns the flaws with the name of the file put to each that has none.
func (f Flaws) In(file string) Flaws {
	out := slices.Clone(f)
	for i := range out {
		if out[i].File == "" {
			out[i].File = file
		}
	}
	return out
}

// sorted puts the flaws in the order of the file, those of one line by field.
func (f Flaws) sorted() Flaws {
	slices.SortStableFunc(f, func(a, b Flaw) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Field, b.Field))
	})
	return f
}

// orNil is the flaws as an error, nil if there are none.
func (f Flaws) orNil() error {
	if len(f) == 0 {
		return nil
	}
	return f.sorted()
}

func (f *Flaws) add(line int, field, what, right string) {
	*f = append(*f, Flaw{Line: line, Field: field, What: what, Right: right})
}
