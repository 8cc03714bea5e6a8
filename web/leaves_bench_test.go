package web

import (
	"testing"

	"taillamp/block"
	"taillamp/block/register"
)

// BenchmarkLeaf says what it costs to open a book of 5,000 lines, that of a day of 20,000 entries and more, at one leaf,
// beside one of 50 lines (E1).
func BenchmarkLeaf(b *testing.B) {
	r, err := block.Embedded("tiny")
	if err != nil {
		b.Fatal(err)
	}
	for name, n := range map[string]int{"50": 50, "5000": 5000} {
		lines := make([]register.Line, n)
		for i := range lines {
			lines[i] = register.Line{ID: uint64(i + 1), Kind: register.TrainRow, Page: []string{"Down", "Up"}[i%2]}
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				down, up := sidesOf(lines)
				spreadOf(r, "OS", "", down, up, spreadsOf(down, up))
			}
		})
	}
}
