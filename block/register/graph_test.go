package register_test

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
)

func played(t testing.TB, file string) (*notes.Notes, []block.Entry) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	n, err := notes.Read(text, nil)
	require.NoError(t, err)
	var entries []block.Entry
	for p := range notes.Run(n) {
		entries = append(entries, p.Entries...)
	}
	return n, entries
}

const goldenDay = "../../testdata/lathermoor/golden.notes"

func graphOf(t testing.TB, file string) *register.Graph {
	t.Helper()
	n, entries := played(t, file)
	g, err := register.GraphOf(n.Rules, n.Begins, register.InOrder(entries))
	require.NoError(t, err)
	return g
}

// drawn is what of a picture the tests ask about.
type drawn struct {
	places map[string]float64      // name → y, of the first panel that has it
	hours  map[string]float64      // "16.00" → x
	trains map[string][][2]float64 // number → the points of its line on the main panel
}

// readSVG reads a picture with the standard library's parser, which refuses what is not well formed (XML 1.0).
func readSVG(t *testing.T, text []byte) drawn {
	t.Helper()
	d := drawn{places: map[string]float64{}, hours: map[string]float64{}, trains: map[string][][2]float64{}}
	in := xml.NewDecoder(bytes.NewReader(text))
	var path, x, y string
	var last string
	for {
		token, err := in.Token()
		if errors.Is(err, io.EOF) {
			return d
		}
		require.NoError(t, err)
		switch e := token.(type) {
		case xml.StartElement:
			require.Equal(t, "http://www.w3.org/2000/svg", e.Name.Space)
			last = e.Name.Local
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "d":
					path = a.Value
				case "x":
					x = a.Value
				case "y":
					y = a.Value
				}
			}
		case xml.CharData:
			words := string(e)
			if number, rest, ok := strings.Cut(strings.TrimPrefix(words, "Train "), ","); ok && last == "title" && strings.HasPrefix(words, "Train ") && rest != "" && d.trains[number] == nil {
				d.trains[number] = points(t, path)
			}
			if last != "text" {
				continue
			}
			if at, err := strconv.ParseFloat(words, 64); err == nil && strings.Contains(words, ".") && at < 24 {
				d.hours[words] = number(t, x)
			} else if _, ok := d.places[words]; !ok {
				d.places[words] = number(t, y)
			}
		case xml.EndElement:
			last = ""
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return f
}

func points(t *testing.T, path string) [][2]float64 {
	t.Helper()
	var out [][2]float64
	for _, p := range strings.FieldsFunc(path, func(r rune) bool { return r == 'M' || r == 'L' }) {
		x, y, ok := strings.Cut(p, " ")
		require.True(t, ok, path)
		out = append(out, [2]float64{number(t, x), number(t, y)})
	}
	return out
}

// Three trains of the golden day stand on the picture where the timetable's times and the yards of the layout file put
// them, to one pixel (F1). The golden day runs to time; its times and yards are read from the scenario's own files, and
// the two scales from two printed hours and two printed names.
func TestGraphStandsToScale(t *testing.T) {
	var text bytes.Buffer
	require.NoError(t, graphOf(t, goldenDay).WriteSVG(&text))
	d := readSVG(t, text.Bytes())

	yards := map[string]float64{"SK": 0, "UL": 5500, "OS": 11220, "QU": 13860, "HX": 21120}
	top, foot := d.places["Skelderby East"], d.places["Hexleigh West"]
	yard := (foot - top) / 21120
	minute := (d.hours["17.00"] - d.hours["16.00"]) / 60
	require.Greater(t, yard, 0.01)
	require.Greater(t, minute, 1.0)

	times, err := os.ReadFile("../layouts/lathermoor/timetable.csv")
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(times)).ReadAll()
	require.NoError(t, err)
	checked := 0
	for _, row := range rows[1:] {
		train, box := row[0], row[2]
		if train != "4" && train != "8" && train != "15" {
			continue
		}
		for _, words := range row[4:7] {
			if words == "" {
				continue
			}
			x := d.hours["16.00"] + (clockMinutes(t, words)-16*60)*minute
			y := top + yards[box]*yard - 5 // a name stands five pixels below its line
			near := false
			for _, p := range d.trains[train] {
				near = near || abs(p[0]-x) <= 1 && abs(p[1]-y) <= 1
			}
			assert.True(t, near, "train %s at %s %s should be at %.1f, %.1f: %v", train, box, words, x, y, d.trains[train])
			checked++
		}
	}
	require.Equal(t, 16, checked)
}

func clockMinutes(t *testing.T, words string) float64 {
	t.Helper()
	words, half := strings.CutSuffix(words, "½")
	h, m, ok := strings.Cut(words, ".")
	require.True(t, ok, words)
	at := number(t, h)*60 + number(t, m)
	if half {
		at += 0.5
	}
	return at
}

func abs(f float64) float64 { return max(f, -f) }

// Over the golden day each band is as long as the scenario's registers have it: accepted from the repetition of is line
// clear to train entering section, in section from there to train out of section (F2). The registers are to the half
// minute, so that a band may differ from them by as much.
func TestBandsAreAsTheRegistersHaveThem(t *testing.T) {
	g := graphOf(t, goldenDay)
	for _, box := range []string{"UL", "OS", "QU", "HX", "TO"} {
		text, err := os.ReadFile("../../testdata/lathermoor/golden-register-" + box + ".csv")
		require.NoError(t, err)
		rows := table(t, text)
		col := map[string]int{}
		for i, h := range rows[0] {
			col[h] = i
		}
		checked := 0
		for _, row := range rows[1:] {
			if row[col["kind"]] != "train" || row[col["entering_section_sent"]] == "" {
				continue
			}
			for what, ends := range map[register.Standing][2]string{
				register.IsAccepted: {"accepted_ahead", "entering_section_sent"},
				register.InSection:  {"entering_section_sent", "out_of_section_received"},
			} {
				from, till := clockMinutes(t, row[col[ends[0]]]), clockMinutes(t, row[col[ends[1]]])
				found := false
				for _, b := range g.Bands {
					sec := string(b.Section)
					if b.What == what && string(b.Train) == row[col["train"]] && strings.Contains(sec, box) &&
						strings.Contains(sec, row[col["ahead_box"]]) && abs(minutesOf(b.From)-from) <= 0.26 {
						found = true
						assert.InDelta(t, till-from, b.Till.Sub(b.From).Minutes(), 0.51, "%s %s %s", box, row[col["train"]], what)
					}
				}
				assert.True(t, found, "%s: no band %s of train %s from %s", box, what, row[col["train"]], row[col[ends[0]]])
				checked++
			}
		}
		require.NotZero(t, checked, box)
	}
}

func minutesOf(t time.Time) float64 {
	return float64(t.Hour()*60+t.Minute()) + float64(t.Second())/60
}

// A clock of a box that is wrong moves no train on the graph.
func TestGraphIsByTheRightClock(t *testing.T) {
	right, wrong := graphOf(t, goldenDay), wrongClock(t)
	var a, b bytes.Buffer
	require.NoError(t, right.WriteSVG(&a))
	require.NoError(t, wrong.WriteSVG(&b))
	require.Equal(t, a.String(), b.String())
}

func wrongClock(t *testing.T) *register.Graph {
	t.Helper()
	n, entries := played(t, goldenDay)
	first := block.Entry{Seq: 1, Event: block.Event{Do: block.Clock, At: n.Begins, By: "OS", Words: "-2m"},
		Outcome: block.Outcome{Ending: block.Done}}
	g, err := register.GraphOf(n.Rules, n.Begins, register.InOrder(append([]block.Entry{first}, entries...)))
	require.NoError(t, err)
	return g
}

// Blocking back and the token out for the trolley are bands too, from the acknowledged signal to its removal and from
// the token drawn to the token put back, as the scenario's register of Ossenwaite Junction has them across the page (F2).
func TestBandsOutOfTheOrdinary(t *testing.T) {
	g := graphOf(t, goldenDay)
	text, err := os.ReadFile("../../testdata/lathermoor/golden-register-OS.csv")
	require.NoError(t, err)
	rows := table(t, text)
	col := map[string]int{}
	for i, h := range rows[0] {
		col[h] = i
	}
	type spell struct {
		with       string // the other box
		from, till float64
	}
	want := map[register.Standing][]spell{}
	for _, row := range rows[1:] {
		if row[col["kind"]] != "signal" || row[col["way"]] != "sent" {
			continue
		}
		switch row[col["code"]] {
		case "2-4":
			want[register.BlockedBack] = append(want[register.BlockedBack], spell{with: row[col["other_box"]], from: clockMinutes(t, row[col["given"]])})
		case "2-1":
			all := want[register.BlockedBack]
			for i := range all {
				if all[i].till == 0 && all[i].with == row[col["other_box"]] {
					all[i].till = clockMinutes(t, row[col["given"]])
					break
				}
			}
		case "5-2":
			want[register.Shunting] = append(want[register.Shunting], spell{with: row[col["other_box"]], from: clockMinutes(t, row[col["token_out"]])})
		case "2-5":
			want[register.Shunting][0].till = clockMinutes(t, row[col["token_in"]])
		}
	}
	require.NotEmpty(t, want[register.BlockedBack])
	require.Len(t, want[register.Shunting], 1)
	for what, spells := range want {
		for _, w := range spells {
			found := false
			for _, b := range g.Bands {
				if b.What == what && strings.Contains(string(b.Section), w.with) && abs(minutesOf(b.From)-w.from) <= 0.26 && abs(minutesOf(b.Till)-w.till) <= 0.26 {
					found = true
				}
			}
			assert.True(t, found, "%s %v: %v", what, w, g.Bands)
		}
	}
}
