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
// the remarks.
func (b *Book) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	if err := c.Write(heads); err != nil {
		return err
	}
	for i, r := range b.Rows() {
		if err := c.Write(b.record(i+1, r)); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
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
