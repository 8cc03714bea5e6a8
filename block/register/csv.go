package register

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
)

// heads are the columns of a register as CSV.
var heads = []string{"no", "page", "kind", "train", "class", "code", "rear_box", "rear_line", "offered_from_rear",
	"accepted", "entering_section_received", "arrived", "passed", "departed", "out_of_section_sent", "ahead_box",
	"ahead_line", "offered_ahead", "accepted_ahead", "entering_section_sent", "out_of_section_received", "token_out",
	"token_in", "way", "other_box", "line_concerned", "given", "acknowledged", "remarks"}

// WriteCSV writes the book as RFC 4180 has it, UTF-8, one line of the book a row. What was ruled through is named in
// the remarks. Words that a spreadsheet would take for a formula have an apostrophe before them: Unguarded takes it off.
func (b *Book) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	if err := c.Write(heads); err != nil {
		return err
	}
	for i, r := range b.Rows() {
		cells := b.record(i+1, r)
		for n := range cells {
			cells[n] = guarded(cells[n])
		}
		if err := c.Write(cells); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// guarded keeps a spreadsheet from working out what somebody wrote as his name or his remark: a cell that begins with one
// of = + - @, a tab or a return gets an apostrophe before it, which spreadsheets take for "these are words" (OWASP, CSV
// Injection). One that begins so behind apostrophes of its own gets one more, so that every cell can be read back.
func guarded(cell string) string {
	if formula(cell) {
		return "'" + cell
	}
	return cell
}

// Unguarded is what was written in a cell of a book that WriteCSV has written.
func Unguarded(cell string) string {
	if own, ok := strings.CutPrefix(cell, "'"); ok && formula(own) {
		return own
	}
	return cell
}

func formula(cell string) bool {
	words := strings.TrimLeft(cell, "'")
	return words != "" && strings.ContainsRune("=+-@\t\r\n", rune(words[0]))
}

// Rounding is how this book writes times.
func (b *Book) Rounding() Rounding { return Rounding(b.rules.Layout().Settings.HalfMinutes) }

func (b *Book) record(no int, r *Row) []string {
	h := b.Rounding()
	t := func(c Column) string { return h.Full(r.Cells[c].At) }
	way := ""
	if r.Kind == SignalRow {
		way = "received"
		if r.Sent {
			way = "sent"
		}
	}
	code := ""
	if len(r.Code) > 0 {
		code = r.Code.String()
	}
	return []string{strconv.Itoa(no), r.Page, string(r.Kind), string(r.Train), r.Class, code, string(r.Rear), r.RearLine,
		t(OfferedFromRear), t(Accepted), t(EnteringReceived), t(Arrived), t(Passed), t(Departed), t(OutSent),
		string(r.Ahead), r.AheadLine, t(OfferedAhead), t(AcceptedAhead), t(EnteringSent), t(OutReceived), t(TokenOut),
		t(TokenIn), way, string(r.Other), r.Line, t(Given), t(Acknowledged), b.remarks(r)}
}

// remarks are the words of a line, regulation 5 and what was ruled through among them.
func (b *Book) remarks(r *Row) string {
	words := append([]string(nil), r.Remarks...)
	if r.RearWarning || r.AheadWarn {
		words = append(words, "Reg. 5")
	}
	for c := range r.Cells {
		if r.Cells[c].Late {
			words = append(words, Column(c).Name()+" booked late")
		}
	}
	if r.Void {
		words = append(words, "ruled through")
	}
	for _, s := range r.Struck {
		words = append(words, "ruled through: "+strings.ReplaceAll(s.Column.Name(), "_", " ")+" "+b.Rounding().Full(s.At))
	}
	return strings.Join(words, "; ")
}
