package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// handPage is the register of a box that its signaller keeps by hand; or, when he lays the pen down, that beside the one
// which wrote itself (B13). While it is kept, the other is hidden at his tablet.
type handPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Kept                 bool // at this tablet, just now
	Working              bool
	Watched              bool    // by the instructor, as its signaller has it before him
	Time                 string  // by the box's clock
	Fast                 float64 // seconds by which it is ahead of the district's
	Says                 string  // what was wrong with the last that was written
	Heads                []bookHead
	Pages                []handSide
	Beside               []handTrain
	Told                 string // of the two laid beside each other
}

// handSide is one side of the opened book.
type handSide struct {
	Title, Right, Begins string
	Rows                 []handRow
	Blank                []struct{}
}

// handRow is one line of it.
type handRow struct {
	ID    uint64
	Name  string
	Void  bool
	Cells []handCell
}

// handCell is one ruled cell. Where nothing is written, it is written in by a touch.
type handCell struct {
	bookCell
	Marks string // beside the other register: what is to be said of it
	Right bool
}

// handTrain is one train in both registers.
type handTrain struct {
	Own, Hand handRow
}

func (s *server) handCookie(box block.BoxID) string {
	return "hand-" + s.live.Name() + "-" + string(box)
}

// byHandAt tells whether the tablet that asks keeps the register of a box by hand.
func (s *server) byHandAt(r *http.Request, box block.BoxID) bool {
	return s.keptAt(r, s.handCookie(box)) != ""
}

// hand shows the register kept by hand: /s/evening/hand/OS; as its signaller has it before him, to the instructor:
// ?as=kept.
func (s *server) hand(w http.ResponseWriter, r *http.Request) { s.drawHand(w, r, "") }

func (s *server) drawHand(w http.ResponseWriter, r *http.Request, says string) {
	box := boxOf(r)
	rules := s.live.Rules()
	page := handPage{Title: s.title, Name: namesOf(rules)[box], Sitting: s.live.Name(), Box: box, Says: says, Heads: bookHeads()}
	_, page.Working = s.seatOf(r, box)
	if _, keeps := s.keeperOf(r, box); keeps {
		page.Working = true
	}
	page.Watched = !page.Working && r.FormValue("as") == "kept" && s.instructs(r)
	page.Kept = page.Watched || page.Working && s.byHandAt(r, box)
	own := register.NewBook(rules, box, s.live.Header().Began)
	hand := register.NewHand(rules, box, s.live.Header().Began)
	for e, err := range s.live.Entries(r.Context()) {
		if err != nil {
			s.unwell(w, err)
			return
		}
		own.Write(e)
		hand.Write(e)
	}
	date := s.live.Header().Began.Format("Monday 2 January 2006")
	now := s.live.Now()
	page.Time = floorHalf(own.Shows(now))
	page.Fast = own.Shows(now).Sub(s.live.District().At(now)).Seconds()
	switch {
	case page.Kept:
		page.Pages = []handSide{{Title: "Down", Right: date, Begins: string(register.BeginsDown)}, {Title: "Up", Right: page.Name, Begins: string(register.BeginsUp)}}
		for n := range page.Pages {
			side := &page.Pages[n]
			for _, l := range hand.Lines() {
				if l.Page == side.Title {
					row := handRowOf(l)
					for i := range row.Cells {
						row.Cells[i].Touch = row.Cells[i].Touch && !page.Watched
					}
					side.Rows = append(side.Rows, row)
				}
			}
			side.Blank = make([]struct{}, max(1, handLines-len(side.Rows)))
		}
	case hand.Begun():
		all := register.BesideHand(own, hand)
		page.Told = toldOfHand(all)
		for _, x := range all {
			t := handTrain{Hand: handRow{Cells: blankHand()}, Own: handRow{Cells: blankHand()}}
			if x.Own != nil {
				row := rowOf(own.Line(x.Own))
				t.Own.Name = row.Name
				for i, c := range row.Cells {
					t.Own.Cells[i].bookCell = c
				}
			}
			if x.Hand != nil {
				t.Hand = handRowOf(x.Hand)
			}
			markHand(&t.Hand, x)
			page.Beside = append(page.Beside, t)
		}
	}
	s.draw(w, "hand.html", page)
}

// handLines is how many ruled lines a side has at least: they fit a tablet.
const handLines = 8

func blankHand() []handCell {
	var cells []handCell
	for _, c := range emptyCells() {
		cells = append(cells, handCell{bookCell: c})
	}
	return cells
}

// handRowOf writes one line out, the hour once and again when it changes.
func handRowOf(l *register.HandLine) handRow {
	row := handRow{ID: l.ID, Name: l.Train, Void: l.Void, Cells: blankHand()}
	hour := ""
	for i := range row.Cells {
		c := &row.Cells[i]
		at, _ := register.ColumnNamed(c.Column)
		for _, x := range l.Struck {
			if x.Column == at {
				c.Struck = append(c.Struck, x.Words)
			}
		}
		pen := l.Cells[at]
		c.Touch = pen.Seq == 0 && !l.Void
		if pen.Seq == 0 {
			continue
		}
		c.Time, c.Seq = register.WriteTime(pen.Time), pen.Seq
		h, minute, _ := strings.Cut(c.Time, ".")
		if c.Minute = minute; h != hour {
			c.Hour = h + "."
		}
		hour = h
	}
	return row
}

// markHand writes into the line by hand how each entry stands to the register's own.
func markHand(row *handRow, x register.ByHand) {
	for i := range row.Cells {
		c := &row.Cells[i]
		at, _ := register.ColumnNamed(c.Column)
		var words []string
		for _, m := range x.Marks[at] {
			switch m {
			case register.Right:
				c.Right = true
			default:
				words = append(words, string(m))
			}
		}
		c.Marks = strings.Join(words, ", ")
	}
}

// toldOfHand says in a sentence how the two registers agree.
func toldOfHand(all []register.ByHand) string {
	n := make(map[register.Mark]int)
	of := 0
	for _, x := range all {
		for _, marks := range x.Marks {
			for _, m := range marks {
				n[m]++
			}
			if len(marks) > 0 && !slices.Contains(marks, register.OnlyHand) {
				of++
			}
		}
	}
	words := fmt.Sprintf("Right and in time: %d of %d entries. Missing %d, wrong time %d, written late %d.",
		n[register.Right], of, n[register.Missing], n[register.WrongAt], n[register.LateBy])
	if only := n[register.OnlyHand]; only > 0 {
		words += fmt.Sprintf(" By hand alone %d.", only)
	}
	return words
}

// write takes what a pen does: begins the register by hand, begins a line, writes a time, or lays the pen down.
func (s *server) write(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	box := boxOf(r)
	seat, working := s.seatOf(r, box)
	if lad, keeps := s.keeperOf(r, box); keeps && !working {
		seat, working = lad, true
	}
	if !working {
		http.Error(w, "Only who works a box, or keeps its register, writes in it.", http.StatusForbidden)
		return
	}
	begins := block.Place(r.FormValue("begins"))
	cell := r.FormValue("cell")
	var e block.Event
	var says string
	switch {
	case r.FormValue("do") == "take up":
		s.keepTicket(w, r, s.handCookie(box), "pen")
	case r.FormValue("do") == "lay down":
		http.SetCookie(w, &http.Cookie{Name: s.handCookie(box), Path: "/s/" + s.live.Name() + "/", HttpOnly: true, MaxAge: -1})
	case begins == register.BeginsDown || begins == register.BeginsUp:
		e = block.Event{Do: block.Remark, Where: begins, Words: strings.TrimSpace(r.FormValue("train"))}
		if n := utf8.RuneCountInString(e.Words); n == 0 || n > trainLimit {
			says = fmt.Sprintf("Write first what train it is, in one to %d letters: its code, as 3-1, and its number if you know it.", trainLimit)
		}
	case cell != "":
		own, err := register.Of(s.live.Rules(), box, s.live.Header().Began, s.live.Entries(r.Context()))
		if err != nil {
			s.unwell(w, err)
			return
		}
		e, says = s.penned(cell, strings.TrimSpace(r.FormValue("time")), own.Shows(s.live.Now()))
	default:
		says = "Nothing was written: touch a cell of a line, or begin a line."
	}
	if says == "" && e.Do != "" {
		if _, err := s.live.Act(r.Context(), seat, 0, e); err != nil {
			says = wordsOf(s.live.Rules(), err).words
		}
	}
	if says != "" {
		w.WriteHeader(http.StatusConflict)
		s.drawHand(w, r, says)
		return
	}
	http.Redirect(w, r, "/s/"+s.live.Name()+"/hand/"+string(box), http.StatusSeeOther)
}

const trainLimit = 30 // letters that describe a train in its line

// penned reads the touch of a cell, "57 accepted": the line's number and the column. at is the time that was written; empty:
// what the box's clock shows is copied.
func (s *server) penned(cell, at string, shows time.Time) (block.Event, string) {
	line, column, _ := strings.Cut(cell, " ")
	id, err := strconv.ParseUint(line, 10, 64)
	c, ok := register.ColumnNamed(column)
	if err != nil || !ok || c > register.OutReceived {
		return block.Event{}, "There is no such place in the book; touch a cell of one of its lines."
	}
	if at == "" {
		at = floorHalf(shows)
		if !s.live.Rules().Layout().Settings.HalfMinutes {
			at = strings.TrimSuffix(at, "½")
		}
	}
	halves, err := register.ReadTime(at)
	if err != nil {
		return block.Event{}, err.Error() + "."
	}
	return block.Event{Do: block.Remark, Line: id, Where: block.Place(c.Name()), Words: register.WriteTime(halves)}, ""
}
