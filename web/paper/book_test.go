package paper_test

import (
	"bytes"
	"cmp"
	"compress/zlib"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
	"taillamp/web/paper"
)

// word is a piece of text on a sheet, placed in points from the foot and the left (PDF 1.7, 9.4).
type word struct {
	x, y float64
	text string
}

// sheets reads the text of a PDF back: the operators Td and Tj of each page's stream, unpacked (PDF 1.7, 7.3.8 and 9.4).
// The type's letters are those of Windows code page 1252, which is Latin-1 in all that a book has.
func sheets(t *testing.T, pdf []byte) [][]word {
	t.Helper()
	var all [][]word
	shown := regexp.MustCompile(`(?s)BT ([\d.]+) ([\d.]+) Td \(((?:\\.|[^\\)])*)\) Tj ET`)
	for _, part := range bytes.Split(pdf, []byte("stream\n"))[1:] {
		raw, _, _ := bytes.Cut(part, []byte("\nendstream"))
		in, err := zlib.NewReader(bytes.NewReader(raw))
		if err != nil {
			continue // what follows an endstream
		}
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		var words []word
		for _, m := range shown.FindAllSubmatch(text, -1) {
			x, err := strconv.ParseFloat(string(m[1]), 64)
			require.NoError(t, err)
			y, err := strconv.ParseFloat(string(m[2]), 64)
			require.NoError(t, err)
			var s strings.Builder
			escaped := false
			for _, c := range m[3] {
				if c == '\\' && !escaped {
					escaped = true
					continue
				}
				escaped = false
				s.WriteRune(rune(c))
			}
			words = append(words, word{x, y, s.String()})
		}
		if len(words) > 0 {
			all = append(all, words)
		}
	}
	return all
}

func golden(t *testing.T, box block.BoxID) (*register.Book, paper.About) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/lathermoor/golden.notes")
	require.NoError(t, err)
	n, err := notes.Read(text, nil)
	require.NoError(t, err)
	b := register.NewBook(n.Rules, box, n.Begins)
	for p := range notes.Run(n) {
		for _, e := range p.Entries {
			b.Write(e)
		}
	}
	return b, paper.About{Title: "Lathermoor District", Sitting: "golden", Began: n.Begins}
}

// columnsOnPage are the scenario's columns in the order of the printed page.
func columnsOnPage() []string {
	return []string{"train", "class", "code", "rear_box", "offered_from_rear", "accepted", "entering_section_received",
		"out_of_section_sent", "arrived", "passed", "departed", "ahead_box", "offered_ahead", "accepted_ahead",
		"entering_section_sent", "out_of_section_received", "token_out", "token_in"}
}

// The text of the PDF is that of the scenario's golden registers, every train's line cell by cell, with the hour written
// once as a signaller does (F6).
func TestPaperSaysWhatTheRegistersSay(t *testing.T) {
	for _, box := range []block.BoxID{"UL", "SK", "OS", "QU", "HX", "TO"} {
		t.Run(string(box), func(t *testing.T) {
			b, about := golden(t, box)
			var pdf bytes.Buffer
			require.NoError(t, paper.WriteBooks(&pdf, about, b))
			text, err := os.ReadFile("../../testdata/lathermoor/golden-register-" + string(box) + ".csv")
			require.NoError(t, err)
			rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
			require.NoError(t, err)
			want := make(map[string][]string) // page → the cells of each line, joined
			for _, row := range rows[1:] {
				cell := make(map[string]string)
				for i, head := range rows[0] {
					cell[head] = row[i]
				}
				if cell["kind"] != "train" {
					continue
				}
				var cells []string
				for _, c := range columnsOnPage() {
					if cell[c] != "" {
						cells = append(cells, cell[c])
					}
				}
				want[cell["page"]] = append(want[cell["page"]], strings.Join(cells, " "))
			}
			got := make(map[string][]string)
			for _, words := range sheets(t, pdf.Bytes()) {
				page, lines := read(t, words)
				got[page] = append(got[page], lines...)
			}
			for page := range want {
				assert.Equal(t, want[page], got[page], page)
			}
		})
	}
}

// read puts the words of a sheet into lines, gives each time its hour, and leaves out what stands in the remarks or across.
func read(t *testing.T, words []word) (page string, lines []string) {
	t.Helper()
	const remarks, ruled, foot = 248 * 72 / 25.4, 183 * 72 / 25.4, 24 * 72 / 25.4
	rows := make(map[int][]word)
	for _, w := range words {
		switch {
		case w.y > ruled && w.x > 200 && !strings.HasPrefix(w.text, "page ") && (w.text == "Down" || w.text == "Up" || strings.HasPrefix(w.text, "Branch")):
			page = w.text
		case w.y < ruled-20 && w.y > foot && w.x < remarks:
			rows[int(w.y)] = append(rows[int(w.y)], w)
		}
	}
	hour := ""
	time := regexp.MustCompile(`^(\d+\.)?(\d\d?)(½?)$`)
	var heights []int
	for y := range rows {
		heights = append(heights, y)
	}
	slices.SortFunc(heights, func(a, b int) int { return b - a })
	for _, y := range heights {
		row := rows[y]
		slices.SortFunc(row, func(a, b word) int { return cmp.Compare(a.x, b.x) })
		if len(row) < 4 || row[0].text == "no." {
			continue // across the page, or the heads of the columns
		}
		var cells []string
		began := ""
		for _, w := range row {
			m := time.FindStringSubmatch(w.text)
			if m == nil || w.x < 42*72/25.4 {
				cells = append(cells, w.text)
				continue
			}
			if m[1] != "" {
				hour = m[1]
			}
			if began == "" {
				began = hour
			}
			minutes, err := strconv.Atoi(m[2])
			require.NoError(t, err)
			cells = append(cells, fmt.Sprintf("%s%02d%s", hour, minutes, m[3]))
		}
		hour = began
		lines = append(lines, strings.Join(cells, " "))
	}
	return page, lines
}

// The same books are the same bytes, so that two prints can be compared.
func TestPaperIsTheSameAgain(t *testing.T) {
	b, about := golden(t, "OS")
	var first, again bytes.Buffer
	require.NoError(t, paper.WriteBooks(&first, about, b))
	require.NoError(t, paper.WriteBooks(&again, about, b))
	require.Equal(t, first.Bytes(), again.Bytes())
	require.True(t, bytes.HasPrefix(first.Bytes(), []byte("%PDF-1.")))
}

// A line ruled through, an emergency and remarks too long for one line all stand on the paper, and a full book goes on to
// the next sheet; nothing lies outside it. A case of our own.
func TestNothingIsCutOff(t *testing.T) {
	b, about := golden(t, "OS")
	long := "the " + strings.Repeat("very ", 40) + "long remark ends here"
	for seq := range uint64(60) {
		b.Write(block.Entry{Seq: 5000 + seq, Event: block.Event{Do: block.Remark, At: about.Began.Add(4 * 3600e9), By: "OS", Words: long}})
	}
	var pdf bytes.Buffer
	require.NoError(t, paper.WriteBooks(&pdf, about, b))
	ends := 0
	for _, words := range sheets(t, pdf.Bytes()) {
		for _, w := range words {
			assert.Greater(t, w.x, 20.0)
			assert.Less(t, w.x, 820.0, w.text)
			assert.Greater(t, w.y, 15.0, w.text)
			assert.Less(t, w.y, 585.0, w.text)
			ends += strings.Count(w.text, "ends here")
		}
	}
	require.Equal(t, 60, ends)
}
