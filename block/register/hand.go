package register

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"taillamp/block"
)

// Hand is the train register of a box as its signaller wrote it with his own pen, beside the one that writes itself. It
// is a fold like Book: give it every entry of the record in order with Write.
type Hand struct {
	Box   block.BoxID
	lines []*HandLine
	clock Clock
}

// HandLine is one line of it.
type HandLine struct {
	ID     uint64 // the entry that began it
	Page   string // Down, Up
	Train  string // as the signaller described it: 3-1, 3-1 no. 12
	Cells  [columns]Penned
	Struck []StruckPen
	Void   bool // ruled through whole
}

// Penned is one time as it was written.
type Penned struct {
	Time  int       // half minutes after midnight
	Words string    // 16.04½
	At    time.Time // when it was written, by the district's clock
	Seq   uint64    // the entry of the record behind it; 0: nothing was written
}

// StruckPen is what was ruled through.
type StruckPen struct {
	Column Column
	Penned
}

// NewHand opens a register to be kept by hand. began is when the sitting did.
func NewHand(r *block.Rules, box block.BoxID, began time.Time) *Hand {
	return &Hand{Box: box, clock: ClockOf(r.Layout(), began)}
}

// Lines are those of the book, in the order in which they were begun. The caller must not change them.
func (h *Hand) Lines() []*HandLine { return h.lines }

// Begun tells whether anything was written.
func (h *Hand) Begun() bool { return len(h.lines) > 0 }

// Write takes one entry of the record. What does not belong to this book it passes over.
func (h *Hand) Write(e block.Entry) {
	if e.Mark != "" {
		return
	}
	h.clock = h.clock.After(e)
	switch {
	case e.Event.By != h.Box:
	case e.Event.Do == block.Slip:
		h.strike(e.Event.Line)
	case !e.Event.ByHand():
	case e.Event.Where == BeginsDown || e.Event.Where == BeginsUp:
		page := "Down"
		if e.Event.Where == BeginsUp {
			page = "Up"
		}
		h.lines = append(h.lines, &HandLine{ID: e.Seq, Page: page, Train: e.Event.Words})
	default:
		c, ok := ColumnNamed(string(e.Event.Where))
		at, err := ReadTime(e.Event.Words)
		for _, l := range h.lines {
			if l.ID == e.Event.Line && ok && err == nil && l.Cells[c].Seq == 0 && !l.Void {
				l.Cells[c] = Penned{Time: at, Words: e.Event.Words, At: h.clock.At(e.Event.At), Seq: e.Seq}
			}
		}
	}
}

// The Where of an entry that begins a line by hand, on the Down or on the Up page; that of any other is its column.
const (
	BeginsDown block.Place = "down"
	BeginsUp   block.Place = "up"
)

func (h *Hand) strike(seq uint64) {
	for _, l := range h.lines {
		if l.ID == seq {
			l.Void = true
		}
		for c := range l.Cells {
			if l.Cells[c].Seq == seq && seq != 0 {
				l.Struck = append(l.Struck, StruckPen{Column(c), l.Cells[c]})
				l.Cells[c] = Penned{}
			}
		}
	}
}

// ColumnNamed is the column of a name.
func ColumnNamed(name string) (Column, bool) {
	for c := range columns {
		if c.Name() == name {
			return c, true
		}
	}
	return 0, false
}

var written = regexp.MustCompile(`^(\d{1,2})[.: ](\d{2}) ?(½|1/2)?$`)

// ReadTime reads a time of day as a signaller writes it, 16.04½, as half minutes after midnight.
func ReadTime(words string) (int, error) {
	m := written.FindStringSubmatch(words)
	if m == nil {
		return 0, fmt.Errorf("%q is no time; write the hour, a point and the minutes, as 16.04 or 16.04½", words)
	}
	hour, _ := strconv.Atoi(m[1])
	minute, _ := strconv.Atoi(m[2])
	if hour > 23 || minute > 59 {
		return 0, fmt.Errorf("%q is no time of day; hours go to 23 and minutes to 59", words)
	}
	half := 0
	if m[3] != "" {
		half = 1
	}
	return hour*120 + minute*2 + half, nil
}

// WriteTime writes half minutes after midnight: 16.04½.
func WriteTime(halves int) string { return clockWords(halves * 30) }
