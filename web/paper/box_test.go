package paper_test

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

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
	trains, others, ok := strings.Cut(card, "After calling attention")
	require.True(t, ok)
	trains, straight, ok := strings.Cut(trains, "Without calling attention")
	require.True(t, ok)
	beats := regexp.MustCompile(`(?m)^\d+(-\d+)*$`)
	require.Len(t, beats.FindAllString(trains, -1), 13, "classes")
	require.Equal(t, []string{"1", "1-2-1", "2", "2-2", "6", "2-5-5", "4-5-5", "2-4-1"}, beats.FindAllString(straight, -1))
	require.Equal(t, 1, strings.Count(others, "\n2-1\n"), "one code in two senses is one line")
	for _, code := range []string{"7", "9", "4-5", "5-5", "6-2", "5-2", "2-5", "16"} {
		require.Contains(t, others, "\n"+code+"\n")
	}
	require.NotContains(t, others, "shunt into forward section", "it is not authorised there")
	require.NotContains(t, others, "regulation 5", "nor is the warning arrangement, there or at a neighbour")
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
			for _, words := range all {
				wide := map[string]float64{"A4": 595, "A5": 420}[size]
				if strings.Contains(joined(words), "Train register") {
					wide = 842 // the blank pages are A4 and lie
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

// content is what a PDF's pages are drawn with, unpacked.
func content(t *testing.T, pdf []byte) string {
	t.Helper()
	var all strings.Builder
	for _, part := range bytes.Split(pdf, []byte("stream\n"))[1:] {
		raw, _, _ := bytes.Cut(part, []byte("\nendstream"))
		in, err := zlib.NewReader(bytes.NewReader(raw))
		if err != nil {
			continue
		}
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		all.Write(text)
	}
	return all.String()
}

// fontSizes are the sizes, in points, that the text of a PDF is set in (PDF 1.7, 9.3: operator Tf).
func fontSizes(t *testing.T, pdf []byte) []float64 {
	t.Helper()
	var sizes []float64
	set := regexp.MustCompile(`/F\S+ ([\d.]+) Tf`)
	for _, m := range set.FindAllStringSubmatch(content(t, pdf), -1) {
		points, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		sizes = append(sizes, points)
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

// A6: the large card can be read from a metre and a half: no code is set smaller than 14 points, whose capitals there are
// seen under more than the five minutes of arc that a sound eye just reads (ISO 8596). Every sheet says whose it is, which
// of how many, and of what day.
func TestCardIsLargeAndNumbered(t *testing.T) {
	day := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	all, pdf := boxPapers(t, "OS", paper.Choice{Size: "A4", Issued: day})
	require.GreaterOrEqual(t, slices.Max(fontSizes(t, pdf)), 18.0)
	const capitals, minute = 0.718, math.Pi / 180 / 60 // Helvetica, by its published metrics
	require.Greater(t, math.Atan(14*25.4/72*capitals/1500)/minute, 7.5)
	hung := 0
	for _, words := range all {
		text := joined(words)
		if strings.Contains(text, "Train register") {
			continue
		}
		hung++
		require.Contains(t, text, "17 October 1961")
		require.Contains(t, text, fmt.Sprintf("Ossenwaite Junction, page %d of 4", hung))
	}
	require.Equal(t, 4, hung)
}

// A6: on a card of large sheets no group of signals is parted that one sheet has room for, by any code book; the rest of
// a group would be looked for in vain.
func TestGroupsOfACardAreWhole(t *testing.T) {
	text, err := os.ReadFile("../../block/layouts/lathermoor/layout.toml")
	require.NoError(t, err)
	for _, book := range block.BookNames() {
		own := regexp.MustCompile(`(?m)^(trains|times) .*$`).ReplaceAllString(string(text), "")
		l, err := block.ReadLayout([]byte(strings.Replace(own, `"1960-letters"`, strconv.Quote(book), 1)))
		require.NoError(t, err)
		r, err := block.NewRules(l, nil, nil)
		require.NoError(t, err)
		for _, box := range l.Boxes {
			var pdf bytes.Buffer
			require.NoError(t, paper.WriteBox(&pdf, r, box.ID, paper.Choice{}))
			all := ""
			for _, words := range sheets(t, pdf.Bytes()) {
				all += joined(words) + "\n"
			}
			for _, head := range []string{"Is line clear for", "Without calling attention", "After calling attention"} {
				require.Equal(t, 1, strings.Count(all, head), "%s at %s by %s", head, box.ID, book)
			}
		}
	}
}

// A6: blank pages for every page that the box's book can have, those of its branch among them, with nothing but black.
func TestBlankPagesAreThoseOfTheBook(t *testing.T) {
	for box, want := range map[block.BoxID][]string{
		"OS": {"Down", "Up", "Branch Down", "Branch Up"}, "HX": {"Down", "Up"}, "TO": {"Branch Down", "Branch Up"},
	} {
		all, pdf := boxPapers(t, box, paper.Choice{})
		var got []string
		for _, words := range all {
			text := joined(words)
			if !strings.Contains(text, "Train register") {
				continue
			}
			for _, line := range strings.Split(text, "\n") {
				if line == "Down" || line == "Up" || strings.HasPrefix(line, "Branch ") {
					got = append(got, line)
				}
			}
			require.Contains(t, text, "Signalman")
		}
		require.Equal(t, want, got, box)
		require.NotRegexp(t, regexp.MustCompile(`\d \d\.\d+ \d\.\d+ (RG|rg)\n`), content(t, pdf), "no colour, only black")
	}
}

// A7: a box that stands switched out all day has a notice too: the trains that run past it, without times.
func TestNoticeOfABoxThatIsOut(t *testing.T) {
	all, _ := boxPapers(t, "MI", paper.Choice{Times: true})
	var card, notice string
	for _, words := range all {
		switch text := joined(words); {
		case strings.Contains(text, "BELL CODES"):
			card += text
		case strings.Contains(text, "SEQUENCE OF TRAINS"):
			notice += text
		case strings.Contains(text, "SPECIAL INSTRUCTIONS"):
			require.Contains(t, strings.Join(strings.Fields(text), " "), "unobstructed to the starting signal of its road")
		}
	}
	require.Contains(t, card, "branch passenger")
	require.NotContains(t, card, "express passenger")
	require.NotContains(t, card, "permissive")
	require.Contains(t, notice, "Skelderby East to Tolverbeck")
	require.Contains(t, strings.Join(strings.Fields(notice), " "), "only while it is open")
	require.NotRegexp(t, regexp.MustCompile(`(?m)^1\d\.\d\d`), notice)
}
