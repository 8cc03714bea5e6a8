package paper_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/paper"
)

func boxPapers(t *testing.T, box block.BoxID, c paper.Choice) ([][]word, []byte) {
	t.Helper()
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	var pdf bytes.Buffer
	require.NoError(t, paper.WriteBox(&pdf, r, box, c))
	return sheets(t, pdf.Bytes()), pdf.Bytes()
}

// joined are the words of a sheet, one below the other.
func joined(words []word) string {
	var all []string
	for _, w := range words {
		all = append(all, w.text)
	}
	return strings.Join(all, "\n")
}

// A6: what hangs in OS: the thirteen classes of train that come to it, the emergencies, the token signals; its special
// instructions; blank pages. Every sheet says what the tool is not (Q14).
func TestPapersOfABox(t *testing.T) {
	all, _ := boxPapers(t, "OS", paper.Choice{Size: "A4", Times: true})
	var card, notice, sequence, blank string
	for _, words := range all {
		text := joined(words)
		require.Contains(t, strings.Join(strings.Fields(text), " "), "never the only protection of anything")
		switch {
		case strings.Contains(text, "BELL CODES"):
			card += text + "\n"
		case strings.Contains(text, "SPECIAL INSTRUCTIONS"):
			notice += text
		case strings.Contains(text, "SEQUENCE OF TRAINS"):
			sequence += text
		default:
			blank += text
		}
	}
	trains, others, ok := strings.Cut(card, "Other signals")
	require.True(t, ok)
	require.Equal(t, 13, strings.Count(trains, "call first"), "classes")
	for _, code := range []string{"6", "7", "9", "4-5", "5-5", "2-5-5", "4-5-5", "6-2", "5-2", "2-5", "16"} {
		require.Contains(t, others, "\n"+code+"\n")
	}
	require.NotContains(t, others, "shunt into forward section", "it is not authorised there")
	for _, words := range []string{"absolute block, 5720 yards", "electric key token, 6570 yards", "440 yards beyond the", "permissive block, goods trains only"} {
		require.Contains(t, strings.Join(strings.Fields(notice), " "), words)
	}
	require.Contains(t, blank, "Train register, Ossenwaite Junction")
	require.Contains(t, sequence, "Tolverbeck to Ossenwaite Junction")
}

// A7: the sequence notice with its times or without.
func TestSequenceNoticeWithAndWithoutTimes(t *testing.T) {
	moves := 0
	notice := func(times bool) string {
		all, _ := boxPapers(t, "OS", paper.Choice{Size: "A4", Times: times})
		for _, words := range all {
			if text := joined(words); strings.Contains(text, "SEQUENCE OF TRAINS") {
				moves = 0
				for _, w := range words {
					if _, err := strconv.Atoi(w.text); err == nil && w.x < 45 {
						moves++
						require.Equal(t, strconv.Itoa(moves), w.text)
					}
				}
				return text
			}
		}
		t.Fatal("there is no notice")
		return ""
	}
	with, without := notice(true), notice(false)
	time := regexp.MustCompile(`(?m)^(a |d )?1[5-9]\.\d\d`)
	require.GreaterOrEqual(t, len(time.FindAllString(with, -1)), 20)
	require.Empty(t, time.FindAllString(without, -1))
	require.Equal(t, 24, moves)
	require.Contains(t, without, "Up Goods Loop")
}

// A6: no text under nine points, at either size, and none outside its sheet; the same layout gives the same file.
func TestPapersCanBeRead(t *testing.T) {
	for _, size := range []string{"A4", "A5"} {
		for _, box := range []block.BoxID{"SK", "UL", "OS", "QU", "HX", "MI", "TO"} {
			all, pdf := boxPapers(t, box, paper.Choice{Size: size, Times: true})
			_, again := boxPapers(t, box, paper.Choice{Size: size, Times: true})
			require.Equal(t, pdf, again)
			for _, points := range fontSizes(t, pdf) {
				require.GreaterOrEqual(t, points, 9.0, "%s %s", box, size)
			}
			for n, words := range all {
				wide := 842.0 // of the blank pages, which are A4 and lie
				if n < len(all)-2 {
					wide = map[string]float64{"A4": 595, "A5": 420}[size]
				}
				for _, w := range words {
					assert.Greater(t, w.x, 15.0, "%s %s: %s", box, size, w.text)
					assert.Less(t, w.x, wide-10, "%s %s: %s", box, size, w.text)
					assert.Greater(t, w.y, 15.0, "%s %s: %s", box, size, w.text)
				}
			}
		}
	}
}

// fontSizes are the sizes, in points, that the text of a PDF is set in (PDF 1.7, 9.3: operator Tf).
func fontSizes(t *testing.T, pdf []byte) []float64 {
	t.Helper()
	var sizes []float64
	set := regexp.MustCompile(`/F\S+ ([\d.]+) Tf`)
	for _, part := range bytes.Split(pdf, []byte("stream\n"))[1:] {
		raw, _, _ := bytes.Cut(part, []byte("\nendstream"))
		in, err := zlib.NewReader(bytes.NewReader(raw))
		if err != nil {
			continue
		}
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		for _, m := range set.FindAllSubmatch(text, -1) {
			points, err := strconv.ParseFloat(string(m[1]), 64)
			require.NoError(t, err)
			sizes = append(sizes, points)
		}
	}
	require.NotEmpty(t, sizes)
	return sizes
}

// A16: the notice printed in mid-evening has the sequence as it then stands, what the owner changed marked in words.
func TestSequenceNoticeHasTheOwnersChanges(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	now := r.Timetable()
	for _, e := range []block.Event{block.AddTrain("31", "1", block.Slot{At: 17 * 3600}), block.Withdraw("6")} {
		now, err = now.After(e)
		require.NoError(t, err)
	}
	all, _ := boxPapers(t, "OS", paper.Choice{Size: "A4", Times: true, Sequence: now})
	var sequence string
	for _, words := range all {
		if text := joined(words); strings.Contains(text, "SEQUENCE OF TRAINS") {
			sequence += strings.Join(strings.Fields(text), " ")
		}
	}
	require.Contains(t, sequence, "- ADDED")
	require.Contains(t, sequence, "- WITHDRAWN")
	booked, _ := boxPapers(t, "OS", paper.Choice{Size: "A4", Times: true})
	for _, words := range booked {
		require.NotContains(t, joined(words), "WITHDRAWN")
	}
}
