package register_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
)

// B20: what was cancelled keeps its line, and the train has a new one when it is offered again; no time of the second goes
// to the first, and the first is not taken for another train of the class. W20 of the absolute-block reference, with the
// train offered again afterwards; how the book shows it is common practice, no source.
func TestCancelledTrainHasANewLine(t *testing.T) {
	const cancelled = `boxes UL OS QU
book 1960-letters
level free
train 1 is 4
train 2 is 4
10:00:00 UL rings OS 1
OS rings UL 1
10:00:05 UL rings OS 4
10:00:08 OS rings UL 4
OS turns UL clear
10:00:20 OS rings QU 1
QU rings OS 1
10:00:25 OS rings QU 4
10:00:28 QU rings OS 4
QU turns OS clear
10:01:00 OS rings QU 1
QU rings OS 1
10:01:05 OS rings QU 3-5
10:01:10 QU rings OS 3-5
QU turns OS blocked
10:03:00 OS rings QU 1
QU rings OS 1
10:03:05 OS rings QU 4
10:03:08 QU rings OS 4
QU turns OS clear
10:04:20 train 1 leaves UL for OS
10:04:21 UL rings OS 2
10:04:23 OS rings UL 2
OS turns UL occupied
10:08:00 train 1 leaves OS for QU
10:08:05 OS rings QU 2
10:08:08 QU rings OS 2
QU turns OS occupied
10:08:10 train 1 passes OS complete
10:08:16 OS rings UL 1
UL rings OS 1
10:08:20 OS rings UL 2-1
10:08:22 UL rings OS 2-1
OS turns UL blocked
`
	n, err := notes.Read([]byte(cancelled), nil)
	require.NoError(t, err)
	var all []block.Entry
	for p := range notes.Run(n) {
		all = append(all, p.Entries...)
	}
	lines := func(box block.BoxID) (trains []string, seen func(block.TrainID) bool) {
		b := register.NewBook(n.Rules, box, n.Begins)
		for _, e := range all {
			b.Write(e)
		}
		for _, l := range b.Lines() {
			if l.Kind != register.TrainRow {
				continue
			}
			words := []string{"train " + string(l.Train)}
			for _, c := range l.Cells {
				words = append(words, c.Column+" "+c.Time)
			}
			trains = append(trains, strings.Join(append(words, l.Remarks...), ", "))
		}
		return trains, b.Seen
	}
	quarry, _ := lines("QU")
	require.Equal(t, []string{
		"train 1, offered_from_rear 10.00, accepted 10.00, cancelled",
		"train 1, offered_from_rear 10.03, accepted 10.03, entering_section_received 10.08",
	}, quarry)
	middle, _ := lines("OS")
	require.Equal(t, []string{
		"train 1, offered_from_rear 10.00, accepted 10.00, entering_section_received 10.04, passed 10.08, out_of_section_sent 10.08, offered_ahead 10.00, accepted_ahead 10.00, cancelled",
		"train 1, departed 10.08, offered_ahead 10.03, accepted_ahead 10.03, entering_section_sent 10.08",
	}, middle)

	// Cancelled and not offered again: the train is still to come, at both boxes, whether it had been accepted or not.
	for _, before := range []string{"10:03:00", "10:00:28 QU"} {
		if before == "10:00:28 QU" { // not accepted: the offer alone is taken back
			n, err = notes.Read([]byte(strings.Replace(strings.Replace(cancelled[:strings.Index(cancelled, "10:03:00")], "10:00:28 QU rings OS 4\nQU turns OS clear\n", "", 1), "QU turns OS blocked\n", "", 1)), nil)
		} else {
			n, err = notes.Read([]byte(cancelled[:strings.Index(cancelled, before)]), nil)
		}
		require.NoError(t, err)
		all = nil
		for p := range notes.Run(n) {
			all = append(all, p.Entries...)
		}
		_, seen := lines("QU")
		require.False(t, seen("1"), before)
		_, seen = lines("OS")
		require.True(t, seen("1"), "it is coming from Ullathwick still")
	}
}
