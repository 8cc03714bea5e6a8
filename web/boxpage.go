package web

import (
	"fmt"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/sim/lesson"
	"taillamp/web/sitting"
)

// boxPage is what the page of one box is drawn from.
type boxPage struct {
	Title, Name, Who, Time string
	Sitting                string
	Box                    block.BoxID
	Working                bool // at this tablet
	Instructs              bool // it is watched with the owner's key
	ByHand                 bool // its register is kept by hand at this tablet, the other hidden
	Staffed, Paused        bool
	Suits                  suits
	Simulated              bool     // by a signaller whom anybody may relieve
	Standing               []string // how things stand, for one who would relieve the signaller
	Switch, Open           bool     // it has a closing switch; which is in
	Danger                 string
	Shelf                  []shelfPlace
	Frame                  []leverPlate // section signals worked at the tablet
	Notice                 []noticeLine
	Foot                   bookTable
	Telephones             []telephone
	Lesson                 *lesson.Lesson // that is being taken here; nil: none
	Present                forScript      // the template writes it as JSON
}

// shelfPlace is one neighbour on the block shelf.
type shelfPlace struct {
	Circuit              block.CircuitID
	To                   block.BoxID
	Name, Plate, Tab     string
	Line, Card           string // Card: what kind of line this is, where it carries bells only
	Key                  string // the letter that rings it
	Here, Danger         bool
	Token                *tokenCard
	Staff                *staffCard
	Dials                []dial
	ToMe                 block.SectionID
	Collared             bool
	Heard, Meaning, Sent string
}

// telephone is one line of it.
type telephone struct {
	Circuit block.CircuitID
	To      string
}

// telephonesOf are the lines of a box: one to each neighbour, or one that all boxes share.
func telephonesOf(kind string, v *block.View) []telephone {
	switch kind {
	case "none":
		return nil
	case "circuit":
		return []telephone{{"", "All boxes"}}
	}
	var all []telephone
	to := make(map[block.BoxID]bool)
	for _, i := range v.Shelf {
		if !to[i.To] { // two boxes have one telephone, however many bells
			to[i.To] = true
			all = append(all, telephone{i.Circuit, i.Name})
		}
	}
	return all
}

// dial is one half-round indicator.
type dial struct {
	Section     block.SectionID
	Title, Word string
	Shows       block.Aspect
	ToMe        bool
	Collar      bool
	Counts      bool // several trains at a time
	Count       string
}

// Is tells whether the dial shows an aspect.
func (d dial) Is(a string) bool { return string(d.Shows) == a }

// aspectWords are the words printed on the dial.
func aspectWords(a block.Aspect) string {
	switch a {
	case block.Clear:
		return "Line clear"
	case block.Occupied:
		return "Train on line"
	}
	return "Line blocked"
}

// forScript is what the page's script begins with; the wire brings everything that changes.
type forScript struct {
	Sitting  string                       `json:"sitting"`
	Box      block.BoxID                  `json:"box"`
	As       sitting.As                   `json:"as"`
	Working  bool                         `json:"working"` // the wire finds the ticket by itself
	View     *block.View                  `json:"view"`
	Settings sitting.Settings             `json:"settings"`
	Names    map[block.BoxID]string       `json:"names"`
	Books    map[string]map[string]inBook `json:"books"`
	BookOf   map[block.CircuitID]string   `json:"bookOf"`
	Sounds   shelfSounds                  `json:"sounds"`
}

// inBook is one line of a code book, as far as a page reads it.
type inBook struct {
	Means string `json:"means"`
	Train bool   `json:"train,omitempty"`
}

// Confided tells whether the page shows what is for the signaller of the box alone.
func (p boxPage) Confided() bool { return p.Working || p.Instructs }

// drawBox draws the page of a box as of now, for the tablet that works it or one that looks in, the instructor's or
// another.
func (s *server) drawBox(p *sitting.Present, as sitting.As) boxPage {
	l := s.live
	v := p.View
	names := namesOf(l.Rules())
	working := as == sitting.Work
	page := boxPage{
		Title: s.title, Name: names[v.Box], Sitting: l.Name(), Box: v.Box, Working: working, Instructs: as == sitting.Instructs, Staffed: v.OnDuty, Open: v.Open, Paused: v.Paused,
		Time: floorHalf(l.District().At(p.At)), Notice: noticeOf(p.Notice, shortNames(names)),
		Foot: footOf(p.Book),
	}
	if s.bench != nil && s.bench.lesson.Learners(v.Box) {
		page.Lesson = s.bench.lesson
	}
	if b, ok := l.Rules().Box(v.Box); ok {
		page.Switch = b.Switch
	}
	if v.OnDuty {
		page.Who = "on duty since " + register.Halves.Full(l.District().At(v.Since))
	}
	f := forScript{
		Sitting: l.Name(), Box: v.Box, As: as, Working: working, View: v, Settings: sitting.SettingsOf(p.Settings), Names: shortNames(names),
		Books: map[string]map[string]inBook{}, BookOf: map[block.CircuitID]string{}, Sounds: s.shelfSounds(v),
	}
	f.readBooks(l.Rules(), v)
	page.Shelf = shelfOf(l, v, f, p.Settings.Meanings)
	page.Danger = dangerWords(v)
	if page.Confided() {
		page.Telephones = telephonesOf(p.Settings.Telephone, v)
	}
	if s := p.Settings; s.Levers && s.LeversAt == "tablet" {
		page.Frame = frameOf(v)
	}
	page.Present = f
	return page
}

// readBooks takes along the code books of a shelf's circuits.
func (f *forScript) readBooks(r *block.Rules, v *block.View) {
	onShelf := make(map[block.CircuitID]bool)
	for _, i := range v.Shelf {
		onShelf[i.Circuit] = true
	}
	for _, c := range r.Circuits() {
		if !onShelf[c.ID] {
			continue
		}
		f.BookOf[c.ID] = c.Book.Name
		codes := make(map[string]inBook, len(c.Book.Codes))
		for _, code := range c.Book.Codes {
			codes[string(code.Key)] = inBook{Means: code.Means, Train: code.Train}
		}
		f.Books[c.Book.Name] = codes
	}
}

// shelfOf is the block shelf, neighbours in line order.
func shelfOf(l *sitting.Live, v *block.View, f forScript, meanings bool) []shelfPlace {
	var shelf []shelfPlace
	taken := map[string]bool{}
	for n, i := range v.Shelf {
		place := shelfPlace{Circuit: i.Circuit, To: i.To, Name: i.Name, Plate: i.Name, Tab: i.Name, Here: n == 0, Danger: i.Danger, Key: letterOf(i.Name, taken)}
		if len(i.Lines) > 0 && (i.Method == "absolute" || i.Method == "permissive") {
			place.Dials = dialsOf(i)
			if i.Lines[0].ToMe {
				place.ToMe, place.Collared = i.Lines[0].Section, i.Lines[0].Collar
			}
		}
		if i.Method != "absolute" && len(i.Lines) > 0 {
			place.Card, place.Line = methodWords(i.Method), i.Lines[0].Line
			place.Plate = f.Names[i.To]
			place.Tab = place.Plate + ", " + place.Line
			place.Token = tokenOf(i.Lines[0], place.Card, place.Plate, tokensOf(l.Rules().Layout(), endsOf(l.Rules(), i.Circuit), place.Line))
			place.Staff = staffOf(i.Lines[0], place.Card, i.To, v.Box)
			if place.Token != nil || place.Staff != nil {
				place.ToMe = i.Lines[0].Section
			}
		}
		if i.Heard != nil {
			place.Heard = "heard " + codeWords(i.Heard) + " at " + clockAt(l, i.Heard.First)
			if meanings {
				place.Meaning = meaningOf(i.Heard, f.Books[f.BookOf[i.Circuit]])
			}
		}
		if i.Sent != nil {
			place.Sent = "rang " + codeWords(i.Sent) + " at " + clockAt(l, i.Sent.First)
		}
		shelf = append(shelf, place)
	}
	return shelf
}

// dialsOf are the indicators of a double line: the one this box turns above the one it watches.
func dialsOf(i block.Instrument) []dial {
	var dials []dial
	for _, line := range i.Lines {
		d := dial{Section: line.Section, Shows: line.Shows, Word: aspectWords(line.Shows), ToMe: line.ToMe, Collar: line.Collar}
		way := "Down"
		if line.Way == "up" {
			way = "Up"
		}
		d.Title = way + " trains from me"
		if line.ToMe {
			d.Title = way + " trains to me"
		}
		if i.Method == "permissive" {
			d.Counts, d.Count = true, countWords(line)
		}
		dials = append(dials, d)
	}
	return dials
}

// countWords says how many trains a permissive line holds by its indicator, and what every driver must be told then.
func countWords(line block.LineView) string {
	words := fmt.Sprintf("Count %d, room for %d more.", line.Count, line.Room)
	if line.Count > 0 {
		words += " Stop each driver and tell him that the line is occupied."
	}
	return words
}

// endsOf are the two boxes of a circuit, in Down order.
func endsOf(r *block.Rules, id block.CircuitID) [2]block.BoxID {
	for _, c := range r.Circuits() {
		if c.ID == id {
			return c.Boxes
		}
	}
	return [2]block.BoxID{}
}

// methodWords names a method that has no instrument on the page yet.
func methodWords(method string) string {
	switch method {
	case "token":
		return "key token"
	case "oneTrain":
		return "one train only"
	case "trackCircuit":
		return "track circuits, each train described by bell"
	case "staffTicket", "staffTicketBlock":
		return "staff and ticket"
	case "permissive":
		return "permissive block"
	}
	return strings.ReplaceAll(method, "-", " ")
}

func codeWords(h *block.Heard) string {
	if len(h.Or) > 0 {
		return h.Beats.String() + " or " + h.Or.String()
	}
	return h.Beats.String()
}

// meaningOf says what a code may mean by its book.
func meaningOf(h *block.Heard, book map[string]inBook) string {
	if len(h.Keys) == 0 {
		return "not in the book"
	}
	code := book[string(h.Keys[0])]
	if code.Train {
		class, _, _ := strings.Cut(code.Means, ";")
		return "is line clear for " + class + "?"
	}
	return code.Means
}

// dangerWords is the sentence over a shelf on which six beats are in force; empty otherwise.
func dangerWords(v *block.View) string {
	var where []string
	for _, i := range v.Shelf {
		if i.Danger {
			where = append(where, i.Name)
		}
	}
	if len(where) == 0 {
		return ""
	}
	return "Obstruction danger: stop all trains toward and from " + strings.Join(where, " and ") + "."
}

// letterOf is the key that rings a neighbour's bell: the first letter of his name that no other has.
func letterOf(name string, taken map[string]bool) string {
	for _, c := range strings.ToLower(name) {
		if k := string(c); c >= 'a' && c <= 'z' && !taken[k] {
			taken[k] = true
			return k
		}
	}
	return ""
}

func namesOf(r *block.Rules) map[block.BoxID]string {
	names := make(map[block.BoxID]string)
	for _, b := range r.Layout().Boxes {
		names[b.ID] = b.Name
	}
	return names
}

// shortNames are the first words of the boxes' names, as people call them, where no two boxes share one.
func shortNames(names map[block.BoxID]string) map[block.BoxID]string {
	boxes := make(map[string]int)
	for _, name := range names {
		word, _, _ := strings.Cut(name, " ")
		boxes[word]++
	}
	short := make(map[block.BoxID]string, len(names))
	for id, name := range names {
		word, _, _ := strings.Cut(name, " ")
		if short[id] = name; boxes[word] == 1 {
			short[id] = word
		}
	}
	return short
}

// clockAt is a moment by the district's clock, to the half minute begun: 16.04½.
func clockAt(l *sitting.Live, t time.Time) string {
	return floorHalf(l.District().At(t))
}

// noticeLine is one train of the sequence notice.
type noticeLine struct {
	Train               block.TrainID
	Booked, Words, Mark string // Mark: what the owner has done with it, and how late it is
	Code                block.Beats
	Change              block.Place
}

const noticeShows = 3 // trains

func noticeOf(next []register.Expected, names map[block.BoxID]string) []noticeLine {
	var lines []noticeLine
	running := 0
	for _, e := range next {
		if running == noticeShows {
			break
		}
		if e.Change != block.Withdrawn {
			running++
		}
		n := noticeLine{Train: e.Train, Change: e.Change, Mark: string(e.Change), Booked: e.Booked, Code: e.Code, Words: names[e.From] + " to " + names[e.To]}
		if e.Class != "" {
			n.Words = e.Class + " · " + n.Words
		}
		if e.Late > 0 && e.Change != block.Withdrawn {
			if n.Mark != "" {
				n.Mark += ", "
			}
			n.Mark += fmt.Sprintf("%d min late", e.Late)
		}
		lines = append(lines, n)
	}
	return lines
}

// floorHalf writes a time of day to the half minute that has begun, as a clock shows it; a book rounds instead.
func floorHalf(t time.Time) string { return register.Halves.Full(t.Truncate(30 * time.Second)) }
