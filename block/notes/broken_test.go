package notes_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block/notes"
)

const abc = "boxes A B C\nbook 1960-letters\n"

// Notes that cannot be read say in which line, what is wrong and what would be right (A3, Q13).
func TestBrokenNotesSayWhere(t *testing.T) {
	for _, c := range []struct {
		text string
		line int
		what string
	}{
		{"10:00 A rings B 4\n", 1, "this line comes before the boxes; begin with layout NAME or boxes and their initials"},
		{abc + "10:00 A rang B 4\n", 3, `"A rang B 4" says nothing these notes know; write it as UL rings OS 3-1, OS turns UL clear, train 1 leaves UL for OS, …`},
		{abc + "10:00 A turns B green\n", 3, `"A turns B green" says nothing these notes know; write it as UL rings OS 3-1, OS turns UL clear, train 1 leaves UL for OS, …`},
		{abc + "10:00 A rings C 4\n", 3, "A and C do not work together; name neighbours, or boxes with none but switched boxes between"},
		{abc + "10:00 D rings B 1\n", 3, "no box is called D; the boxes are A B C"},
		{abc + "10:00 A rings B 4-\n", 3, `"" in "4-" is not a number of beats; write groups such as 3-1`},
		{abc + "10:05 A rings B 4\n10:00 B rings A 4\n", 4, "time goes back from 10:05:00 to 10:00:00; write lines in order of time"},
		{abc + "25:00 A rings B 4\n", 3, `"25:00" is no time of day; write it as 9:41 or 09:41:05`},
		{"boxes A B\nbook 1961-letters\n", 2, `no code book is called "1961-letters"; the books are 1960-letters, 1962-numbers, 1969-numbers, clearing-house, 1990-rules`},
		{abc + "level loose\n", 3, `no apparatus level is called "loose"; it is free, sequential or interlocked`},
		{"layout nowhere\n", 1, `no layout is called "nowhere"; write lathermoor, tiny or the path of a layout file`},
		{abc + "set settle soon\n", 3, `settle is "soon"; write a span of time such as 30s or 10m`},
		{abc + "section A C 300 yd\n", 3, "A and C are no neighbours; name two boxes that are"},
		{abc + "authorise warning at B from D\n10:00 A rings B 1\n", 3, "no box is called D; the boxes are A B C"},
		{abc + "10:00 A strikes out 9\n", 3, "line 9 says nothing that could be ruled through; name an earlier line that does"},
		{"boxes A\n", 1, "boxes names fewer than two; write their initials in Down order, such as boxes UL OS QU"},
		{"boxes A A\n", 1, "box A is named twice; name each box once"},
		{abc + "train 4 is 9-x\n", 3, `"x" in "9-x" is not a number of beats; write groups such as 3-1`},
	} {
		_, err := notes.Read([]byte(c.text), nil)
		var f notes.Fault
		require.ErrorAs(t, err, &f, c.text)
		require.Equal(t, c.line, f.Line, c.text)
		require.Equal(t, c.what, f.What, c.text)
	}
}

// FuzzNotes: no text makes the reader fail otherwise than with a line and a sentence, and what it reads can be run.
func FuzzNotes(f *testing.F) {
	for _, pattern := range []string{"../../testdata/cases/*.notes", "../../testdata/rules/*.notes"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range files[:min(len(files), 20)] {
			text, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(text))
		}
	}
	f.Add("layout lathermoor\n15:30 UL takes duty\n15:31 TO rings OS 1-3 held\n")
	f.Fuzz(func(t *testing.T, text string) {
		n, err := notes.Read([]byte(text), nil)
		if err != nil {
			var fault notes.Fault
			if !errors.As(err, &fault) || fault.Line < 1 || fault.What == "" || strings.Contains(fault.What, "block: ") {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		for p := range notes.Run(n) {
			if p.Ending == "" || p.Line < 1 {
				t.Fatalf("%q: line %d has no ending", text, p.Line)
			}
		}
	})
}
