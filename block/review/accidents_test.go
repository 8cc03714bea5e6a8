package review_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
	"taillamp/block/review"
)

// read plays a worked case and gives its rules and its record.
func read(t *testing.T, name string) (*block.Rules, []block.Entry) {
	t.Helper()
	return readFile(t, "cases/"+name)
}

// readFile is read for any file of testdata.
func readFile(t *testing.T, name string) (*block.Rules, []block.Entry) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/" + name + ".notes")
	require.NoError(t, err)
	return playText(t, string(text))
}

func playText(t *testing.T, text string) (*block.Rules, []block.Entry) {
	t.Helper()
	n, err := notes.Read([]byte(text), nil)
	require.NoError(t, err)
	var entries []block.Entry
	for p := range notes.Run(n) {
		require.NotEqual(t, "impossible", p.Ending, "line %d: %s: %s", p.Line, p.Text, p.Why)
		entries = append(entries, p.Entries...)
	}
	return n.Rules, entries
}

func found(t *testing.T, r *block.Rules, entries []block.Entry) []review.Finding {
	t.Helper()
	var out []review.Finding
	for f, err := range review.Of(r, all(entries)) {
		require.NoError(t, err)
		out = append(out, f)
	}
	return out
}

// bookOf writes the register of one box.
func bookOf(t *testing.T, r *block.Rules, box block.BoxID, entries []block.Entry) *register.Book {
	t.Helper()
	b, err := register.Of(r, box, entries[0].Event.At, all(entries))
	require.NoError(t, err)
	return b
}

// The reviewer lays to the signaller what the inquiry laid to him, at the act, and leaves the others alone; the register
// prints the minute that the report gives. Sources: CAS (Castlecary 1937), NOR (Norton Fitzwarren 1890), QUI
// (Quintinshill 1915), HAW (Hawes Junction 1910), WEL (Welwyn Garden City 1935), BAT (Battersea Park 1937), SAN (Sandal
// 1891); absolute-block reference 8.3. The bell times between are our own.
func TestAccidentsAreFoundAsTheInquiriesFoundThem(t *testing.T) {
	for _, c := range []struct {
		name, title string
		errs        []string // rule, time of the act: all at box B
		words       string   // a remark of B, and the time his book prints for it
		booked      string
	}{
		{"W40", "Castlecary", []string{"R14 16:33:09"}, "collision", "16.37½"},
		{"W41", "Norton Fitzwarren", []string{"R49 01:06:00", "R14 01:23:09"}, "", ""},
		{"W42", "Quintinshill", []string{"R22 06:30:00", "R49 06:31:00", "R65 06:34:00", "R14 06:42:09"}, "collision", "6.49"},
		{"W43", "Hawes Junction", []string{"R30 05:46:00"}, "", ""},
		{"W44", "Welwyn Garden City", []string{"R38 23:23:26", "R13 23:24:19"}, "collision", "23.27"},
		{"W45", "Battersea Park", []string{"R46 07:59:00", "R13 07:59:39"}, "collision", "8.02"},
		{"W46", "Sandal", nil, "goods into the rear of another at the up starter", "21.38"},
	} {
		t.Run(c.title, func(t *testing.T) {
			r, entries := read(t, c.name)
			text, err := os.ReadFile("../../testdata/cases/" + c.name + ".notes")
			require.NoError(t, err)
			may := wantOf(t, string(text)).may
			var errs []string
			for _, f := range found(t, r, entries) {
				if !mayCome(may, f) {
					require.Equal(t, block.BoxID("B"), f.Box, "%s", f.Rule)
					errs = append(errs, string(f.Rule)+" "+f.At.Format(time.TimeOnly))
				}
			}
			require.Equal(t, c.errs, errs)
			if c.words == "" {
				return
			}
			b := bookOf(t, r, "B", entries)
			require.Equal(t, c.booked, b.Rounding().Full(noted(b, c.words)))
		})
	}
}

func mayCome(may []string, f review.Finding) bool {
	for _, m := range may {
		if m == string(f.Rule)+" "+string(f.Box)+" "+string(f.Severity) {
			return true
		}
	}
	return false
}

// noted is when a book has a line across the page with those words.
func noted(b *register.Book, words string) time.Time {
	for _, row := range b.Rows() {
		if row.Kind == register.NoteRow && row.Remarks[0] == words {
			return row.Cells[register.Given].At
		}
	}
	return time.Time{}
}

// W18: 0 to 29 seconds belong to the minute, 30 and more to the next; source LRF, the rule printed on the books.
func TestTimesAreBookedToTheNearestMinute(t *testing.T) {
	r, entries := read(t, "W18")
	b := bookOf(t, r, "B", entries)
	rows := b.Rows()
	require.Len(t, rows, 3)
	require.Equal(t, "11.00", b.Rounding().Full(rows[0].Cells[register.EnteringReceived].At)) // 11:00:26
	require.Equal(t, "25", b.Rounding().Short(rows[1].Cells[register.OfferedFromRear].At))    // 11:25:16
	at := rows[0].Cells[register.EnteringReceived].At.Truncate(time.Minute)
	for second, want := range map[int][2]string{29: {"11.00", "11.00½"}, 30: {"11.01", "11.00½"}} { // order does not matter: two checks
		x := at.Add(time.Duration(second) * time.Second)
		require.Equal(t, want[0], register.Rounding(false).Full(x))
		require.Equal(t, want[1], register.Halves.Full(x))
	}
}
