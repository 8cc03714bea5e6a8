package register_test

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// FuzzCSV signs somebody on under any name, books any remark beside any train, and takes the book away as CSV: what is
// written reads back by another's reader, Go's encoding/csv, as the same rows, whatever stands in a cell. A carriage return
// before a new line is left out by that reader, as its documentation says.
func FuzzCSV(f *testing.F) {
	for _, words := range []string{"train divided", `"`, `""`, "a,b", "one\ntwo", "one\r\ntwo", "\r", "\r\r\n", "no;quotes", " spaces ",
		"\u2028", "\x00", "\xff", "\ufeff", `\.`, "=1+1", "+44", "-1", "@a", "\t=1", "'=1", "''=1", "'quoted'", "\"\n\"", "#", "'", "16.04½"} {
		f.Add(words, words, words)
		f.Add("A. Porter", "11", words)
	}
	rules, err := block.Embedded("tiny")
	if err != nil {
		f.Fatal(err)
	}
	began := time.Date(1960, 10, 3, 16, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, who, train, words string) {
		book, state := register.NewBook(rules, "OS", began), rules.Opening(began)
		for i, e := range []block.Event{
			{Do: block.Duty, Words: who},
			{Do: block.Remark, Words: words},
			{Do: block.Remark, Train: block.TrainID(train), Words: words},
		} {
			e.By, e.At = "OS", began.Add(time.Duration(i+1)*time.Minute)
			next, out, err := rules.Step(state, e)
			if err != nil {
				continue
			}
			state = next
			book.Write(block.Entry{Seq: uint64(i + 1), Event: e, Outcome: out})
		}
		var text bytes.Buffer
		if err := book.WriteCSV(&text); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&text).ReadAll() // and every row is as long as the first
		if err != nil {
			t.Fatalf("it does not read back: %v", err)
		}
		if len(rows) != 1+len(book.Rows()) {
			t.Fatalf("%d rows of %d lines", len(rows), len(book.Rows()))
		}
		column := func(name string) int { return slices.Index(rows[0], name) }
		for i, r := range book.Rows() {
			for name, want := range map[string]string{"train": string(r.Train), "remarks": strings.Join(r.Remarks, "; ")} {
				cell := rows[i+1][column(name)]
				if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r\n") {
					t.Errorf("%s of line %d begins as a formula does: %q", name, i+1, cell)
				}
				if got := register.Unguarded(cell); got != strings.ReplaceAll(want, "\r\n", "\n") {
					t.Errorf("%s of line %d reads back as %q, and was %q", name, i+1, got, want)
				}
			}
		}
		if len(rows) < 3 {
			t.Fatalf("signing on and a remark make two lines at least: %q", rows)
		}
		if got := rows[2][column("remarks")]; words != "" && register.Unguarded(got) != strings.ReplaceAll(words, "\r\n", "\n") {
			t.Errorf("the remark %q reads back as %q", words, got)
		}
	})
}
