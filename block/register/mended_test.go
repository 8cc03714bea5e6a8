package register_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
)

// changed is the book of a box on the golden day with some of its notes changed, and what was noted.
func changed(t *testing.T, box block.BoxID, change ...string) (*register.Book, []block.Entry) {
	t.Helper()
	text, err := os.ReadFile(goldenDay)
	require.NoError(t, err)
	was := string(text)
	for n := 0; n < len(change); n += 2 {
		require.Contains(t, was, change[n])
		was = strings.Replace(was, change[n], change[n+1], 1)
	}
	n, err := notes.Read([]byte(was), nil)
	require.NoError(t, err)
	b := register.NewBook(n.Rules, box, n.Begins)
	var entries []block.Entry
	for p := range notes.Run(n) {
		for _, e := range p.Entries {
			entries = append(entries, e)
			b.Write(e)
		}
	}
	return b, entries
}

func lineOf(t *testing.T, b *register.Book, train block.TrainID) (register.Line, map[string]register.Written) {
	t.Helper()
	for _, l := range b.Lines() {
		if l.Train != train {
			continue
		}
		cells := map[string]register.Written{}
		for _, c := range l.Cells {
			cells[c.Column] = c
		}
		return l, cells
	}
	t.Fatalf("train %s is in no line", train)
	return register.Line{}, nil
}

// A stop is a stop however short: train 1 is booked to stop at Ullathwick (the scenario's timetable), and is so booked when
// it stood for 22 seconds only; that it was there less than a minute makes no passing train of it. One that is not booked to
// stop, or only went by slower than others, has passed.
func TestShortStopIsNoPassing(t *testing.T) {
	const heads = "15:41:00  train 1 heads past UL"
	b, _ := changed(t, "UL", heads, "15:41:38  train 1 heads past UL")
	_, cells := lineOf(t, b, "1")
	assert.Equal(t, "15.41½", cells["arrived"].Time)
	assert.Equal(t, "15.42", cells["departed"].Time)
	assert.NotContains(t, cells, "passed")

	b, _ = changed(t, "UL", heads, "15:42:06  train 1 heads past UL") // twelve seconds: it never stood
	_, cells = lineOf(t, b, "1")
	assert.Equal(t, "15.42", cells["passed"].Time)
	assert.NotContains(t, cells, "arrived")

	b, _ = changed(t, "UL")
	_, cells = lineOf(t, b, "4") // the express, booked to pass
	assert.Contains(t, cells, "passed")
	assert.NotContains(t, cells, "departed")
}

// An arrival that nobody booked until its 2-1 was given is booked late, with the time of booking, marked in the line and in
// the CSV's remarks; it moves nothing, and a train still in section is not booked so. What was booked late can be ruled
// through, and so can a line across the page, which stays legible and where it is.
func TestForgottenArrivalIsBookedLate(t *testing.T) {
	b, entries := changed(t, "UL", "15:41:00  train 1 heads past UL\n", "", "15:42:18  train 1 leaves UL for OS\n", "", "15:42:41  train 1 passes UL complete", `15:42:41  UL remarks "nothing seen"`)
	_, cells := lineOf(t, b, "1")
	require.NotContains(t, cells, "arrived")
	require.Contains(t, cells, "out_of_section_sent")
	last := entries[len(entries)-1]
	write := func(e block.Event, changes ...block.Change) {
		last.Seq++
		e.At, e.By = last.Event.At, "UL"
		b.Write(block.Entry{Seq: last.Seq, Event: e, Outcome: block.Outcome{Ending: block.Done, Changes: changes}})
	}
	late := block.Event{Do: block.Train, Section: "SK-UL Down Main", Train: "1", Where: block.WasIn}
	write(late, block.Change{Train: &block.Spotted{Train: "1", Section: late.Section, Where: block.WasIn}})
	line, cells := lineOf(t, b, "1")
	require.True(t, cells["arrived"].Late)
	assert.Equal(t, b.Rounding().Full(b.Shows(last.Event.At)), cells["arrived"].Time)
	assert.NotContains(t, line.Open, "passed")
	var csv strings.Builder
	require.NoError(t, b.WriteCSV(&csv))
	assert.Contains(t, csv.String(), "arrived booked late")

	write(block.Event{Do: block.Slip, Line: cells["arrived"].Seq})
	line, cells = lineOf(t, b, "1")
	assert.NotContains(t, cells, "arrived")
	require.Len(t, line.Struck, 1)

	before := b.Lines()
	require.Equal(t, register.NoteRow, before[0].Kind)
	write(block.Event{Do: block.Slip, Line: before[0].Cells[0].Seq})
	after := b.Lines()
	assert.True(t, after[0].Void)
	assert.Equal(t, before[0].Cells, after[0].Cells, "legible, and where it stood")
	assert.Equal(t, before[0].Remarks, after[0].Remarks)
}

// The machine takes a late booking of a train that is gone and changes nothing else by it.
func TestLateBookingMovesNothing(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	for _, c := range r.Circuits() {
		sec := c.Sections[0]
		state := r.Opening(began)
		state, out, err := r.Step(state, block.Event{Do: block.Duty, By: sec.Advance, At: began})
		require.NoError(t, err)
		require.Equal(t, block.Done, out.Ending)
		lines := r.Lines(state)
		if !r.Works(state, c.ID) {
			continue
		}
		next, out, err := r.Step(state, block.Event{Do: block.Train, By: sec.Advance, Section: sec.ID, Where: block.WasBy, Train: "99", At: began})
		require.NoError(t, err, "%s", sec.ID)
		assert.Equal(t, block.Done, out.Ending)
		assert.Empty(t, out.Irregular)
		assert.Equal(t, lines, r.Lines(next))
	}
}
