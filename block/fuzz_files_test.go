package block_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"taillamp/block"
)

// seeds adds the broken files of one kind to a fuzz target.
func seeds(f *testing.F, ending string) {
	f.Helper()
	files, err := filepath.Glob(filepath.Join(badFiles, "*"+ending))
	if err != nil || len(files) == 0 {
		f.Fatalf("no seeds end in %s: %v", ending, err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
}

// explained fails unless an error is a list of flaws, each with a line that the text has, what is wrong and what
// would be right.
func explained(t *testing.T, err error, text []byte) {
	t.Helper()
	var flaws block.Flaws
	if !errors.As(err, &flaws) || len(flaws) == 0 {
		t.Fatalf("the error is no list of flaws: %v", err)
	}
	lines := 1 + strings.Count(string(text), "\n") + strings.Count(string(text), "\r")
	for _, f := range flaws {
		if f.Line < 1 || f.Line > lines || f.What == "" || f.Right == "" {
			t.Fatalf("of %d lines: %+v", lines, f)
		}
	}
}

// FuzzLayout reads any text as a layout. It never panics; what it refuses it explains with a line; what it accepts
// has no flaw, reads the same after it has been written, and makes rules.
func FuzzLayout(f *testing.F) {
	seeds(f, ".toml")
	for _, name := range block.LayoutNames() {
		texts, err := block.EmbeddedLayout(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add([]byte(texts.Layout))
	}
	tiny, err := block.Embedded("tiny")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 8192 {
			return // long texts are slow and teach nothing
		}
		l, err := block.ReadLayout(text)
		if err != nil {
			explained(t, err, text)
			return
		}
		if flaws, _ := l.Check(); len(flaws) > 0 {
			t.Fatalf("accepted, and has flaws: %v", flaws)
		}
		l.CheckSequence(tiny.Timetable(), nil)
		again, err := block.ReadLayout(l.Text())
		if err != nil {
			t.Fatalf("written as\n%s\nit reads with: %v", l.Text(), err)
		}
		if string(again.Text()) != string(l.Text()) {
			t.Fatalf("written as\n%s\nit reads as\n%s", l.Text(), again.Text())
		}
		if r, err := block.NewRules(l, nil, nil); err == nil {
			r.Opening(time.Unix(0, 0))
		}
	})
}

// FuzzCodeBook reads any text as a code book, and holds it to the same.
func FuzzCodeBook(f *testing.F) {
	seeds(f, ".book")
	f.Add([]byte(ownBook))
	for _, name := range block.BookNames() {
		b, err := block.FindCodeBook(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b.Text())
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 32768 {
			return
		}
		b, err := block.ReadCodeBook(text)
		if err != nil {
			explained(t, err, text)
			return
		}
		again, err := block.ReadCodeBook(b.Text())
		if err != nil {
			t.Fatalf("written as\n%s\nit reads with: %v", b.Text(), err)
		}
		if string(again.Text()) != string(b.Text()) {
			t.Fatalf("written as\n%s\nit reads as\n%s", b.Text(), again.Text())
		}
		for _, c := range b.Codes {
			if found := b.Find(c.Beats, c.Bearing); len(found) == 0 {
				t.Fatalf("%s is in the book and not found", c.Key)
			}
		}
	})
}

// FuzzTimetable reads any texts as trains and times, and holds them against the demo's layout. It never panics; what
// it refuses it explains with a row; no train of what it accepts runs backwards.
func FuzzTimetable(f *testing.F) {
	for _, name := range block.LayoutNames() {
		texts, err := block.EmbeddedLayout(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add([]byte(texts.Trains), []byte(texts.Times))
		f.Add([]byte(texts.Trains), []byte{})
	}
	files, err := filepath.Glob(filepath.Join(badFiles, "*.csv"))
	if err != nil || len(files) == 0 {
		f.Fatalf("no seeds: %v", err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text, text)
	}
	demo, err := block.Embedded("lathermoor")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, trains, times []byte) {
		if len(trains)+len(times) > 8192 {
			return
		}
		day, err := block.ReadTimetable(trains, times)
		flaws, _ := demo.Layout().CheckSequence(day, nil)
		if len(flaws) > 0 {
			explained(t, flaws, slices.Concat(trains, times))
		}
		if err != nil {
			explained(t, err, slices.Concat(trains, times))
			return
		}
		for _, w := range day.Workings {
			last := -1
			for _, c := range w.Calls {
				for _, at := range []int{c.Arrive, c.Pass, c.Depart} {
					if at >= 0 && at < last {
						t.Fatalf("train %s runs backwards at %s", w.Train, c.Box)
					}
					last = max(last, at)
				}
			}
		}
	})
}
