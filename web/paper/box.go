package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"taillamp/block"
	"taillamp/block/register"
)

// Choice says how the papers of a box are printed.
type Choice struct {
	Size  string // A4 or A5
	Times bool   // the sequence notice with its booked times; else the order alone
	// Sequence is that of the evening as it stands; nil: as booked. What the owner has changed is marked.
	Sequence *block.Timetable
	Issued   time.Time // the day that stands at the foot of every notice; zero: none
}

// WriteBox writes what hangs in one box: the cards of its bell codes, its special instructions, the sequence of its
// trains, and blank pages for its register, which are always A4. Black on white, nothing under nine points. The same
// layout and choice give the same bytes.
func WriteBox(w io.Writer, r *block.Rules, box block.BoxID, c Choice) error {
	if c.Size == "" {
		c.Size = "A4"
	}
	if c.Sequence == nil {
		c.Sequence = r.Timetable()
	}
	h := hang(r, box, c, 0)
	h = hang(r, box, c, h.sheets) // how many there are is known only when they are laid out
	return h.pdf.Output(w)
}

// hang lays out the papers of a box. of is how many sheets hang, 0: not known yet.
func hang(r *block.Rules, box block.BoxID, c Choice, of int) *hung {
	b, _ := r.Box(box)
	h := &hung{r: r, box: b, issued: c.Issued, of: of, trains: c.Sequence.WithOff(), pdf: fpdf.New("P", "mm", c.Size, "")}
	h.latin = h.pdf.UnicodeTranslatorFromDescriptor("")
	h.pdf.SetCatalogSort(true)
	h.pdf.SetCreationDate(setAt)
	h.pdf.SetModificationDate(setAt)
	h.pdf.SetTitle("Papers of "+b.Name, true)
	h.pdf.SetMargins(edge, edge, edge)
	h.pdf.SetAutoPageBreak(false, 0)
	h.wide, h.high = h.pdf.GetPageSize()
	h.large = c.Size == "A4"
	h.codes()
	h.instructions()
	h.sequence(c.Times)
	h.blanks()
	return h
}

// hung are the papers of one box while they are written.
type hung struct {
	r          *block.Rules
	box        block.Box
	issued     time.Time
	trains     []block.Working // those withdrawn among them
	pdf        *fpdf.Fpdf
	latin      func(string) string
	large      bool // A4, to be read from the middle of the room; else A5, for the desk
	wide, high float64
	y          float64
	title      string
	sheets, of int // hung so far, and in all
}

// Sizes in millimetres and points.
const (
	edge     = 12.0
	smallest = 9.0
	footRoom = 17.0
	headRoom = edge + 36
)

// points is a size for a large sheet or for a small one.
func (h *hung) points(large, small float64) float64 {
	if h.large {
		return large
	}
	return small
}

// leading is how far apart lines of a size are, in millimetres.
func leading(points float64) float64 { return points * 0.3528 * 1.25 }

func (h *hung) font(family, style string, size float64) {
	h.pdf.SetFont(family, style, size)
	h.pdf.SetTextColor(0, 0, 0)
	h.pdf.SetDrawColor(0, 0, 0)
}

// begin begins a sheet with its printed head and foot.
func (h *hung) begin(title string) {
	h.title = title
	h.sheets++
	h.pdf.AddPageFormat("P", fpdf.SizeType{Wd: h.wide, Ht: h.high})
	h.pdf.SetDrawColor(0, 0, 0)
	for _, rule := range []struct{ out, thick float64 }{{4, 0.9}, {2.4, 0.2}} {
		h.pdf.SetLineWidth(rule.thick)
		h.pdf.Rect(edge-rule.out, edge-rule.out, h.wide-2*(edge-rule.out), h.high-2*(edge-rule.out), "D")
	}
	h.font("Helvetica", "", smallest)
	h.middle(strings.ToUpper(h.r.Layout().Title), edge+4)
	size := h.points(22, 17)
	for h.font("Helvetica", "B", size); h.pdf.GetStringWidth(h.latin(strings.ToUpper(h.box.Name))) > h.wide-2*edge && size > smallest; {
		size--
		h.font("Helvetica", "B", size)
	}
	h.middle(strings.ToUpper(h.box.Name), edge+12.5)
	h.swelled(edge + 16)
	h.font("Helvetica", "B", h.points(13, 11))
	h.middle(title, edge+22)
	h.y = edge + 31
	h.foot()
}

// swelled is the rule that printers put under a heading: thick in the middle and pointed at its ends.
func (h *hung) swelled(y float64) {
	mid, half := h.wide/2, h.wide/6
	h.pdf.SetFillColor(0, 0, 0)
	h.pdf.Polygon([]fpdf.PointType{{X: mid - half, Y: y}, {X: mid, Y: y - 0.5}, {X: mid + half, Y: y}, {X: mid, Y: y + 0.5}}, "F")
}

// foot prints what the tool is not, the day, and which sheet of how many this is.
func (h *hung) foot() {
	h.font("Helvetica", "", smallest)
	y := h.high - edge
	words := h.latin(fmt.Sprintf("%s, page %d of %d", h.box.Name, h.sheets, max(h.of, h.sheets)))
	h.pdf.Text(h.wide-edge-h.pdf.GetStringWidth(words), y, words)
	if !h.issued.IsZero() {
		h.pdf.Text(edge, y, h.issued.Format("2 January 2006"))
	}
	lines := h.folded(safety, h.wide-2*edge)
	for i, words := range lines {
		h.middle(words, y-5-float64(len(lines)-1-i)*4)
	}
	h.pdf.SetLineWidth(0.2)
	y -= 5 + float64(len(lines))*4
	h.pdf.Line(edge, y, h.wide-edge, y)
}

// middle prints words in the middle of the sheet.
func (h *hung) middle(words string, y float64) {
	words = h.latin(words)
	h.pdf.Text((h.wide-h.pdf.GetStringWidth(words))/2, y, words)
}

// room has a new sheet begun where so much no longer fits.
func (h *hung) room(need float64) bool {
	if h.y+need <= h.high-edge-footRoom {
		return false
	}
	h.begin(h.title)
	return true
}

// sheetRoom is what an empty sheet has room for.
func (h *hung) sheetRoom() float64 { return h.high - edge - footRoom - headRoom }

// folded breaks words into lines that fit a width. A new line in the words stays one.
func (h *hung) folded(words string, room float64) []string {
	var lines []string
	for _, part := range strings.Split(h.latin(words), "\n") {
		first := len(lines)
		for _, word := range strings.Fields(part) {
			if n := len(lines) - 1; n >= first && h.pdf.GetStringWidth(lines[n]+" "+word) <= room {
				lines[n] += " " + word
				continue
			}
			lines = append(lines, word)
		}
	}
	return lines
}

// paragraph prints one point of a notice; one that stands alone has no number, 0.
func (h *hung) paragraph(number int, words string) {
	size := h.points(14, 11)
	h.font("Times", "", size)
	lines := h.folded(words, h.wide-2*edge-12)
	h.room(float64(len(lines)) * leading(size))
	h.font("Times", "", size)
	if number > 0 {
		h.pdf.Text(edge+1, h.y, fmt.Sprintf("%d.", number))
	}
	for _, l := range lines {
		h.pdf.Text(edge+11, h.y, l)
		h.y += leading(size)
	}
	h.y += leading(size) / 2
}

// circuits are those of the box, in the order of the line.
func (h *hung) circuits() []block.Circuit {
	var mine []block.Circuit
	for _, c := range h.r.Circuits() {
		if slices.Contains(c.Boxes[:], h.box.ID) {
			mine = append(mine, c)
		}
	}
	return mine
}

func (h *hung) name(id block.BoxID) string {
	b, _ := h.r.Box(id)
	return b.Name
}

func (h *hung) other(c block.Circuit) block.BoxID {
	if c.Boxes[0] == h.box.ID {
		return c.Boxes[1]
	}
	return c.Boxes[0]
}

// blanks are the pages of the box's register with nothing in them.
func (h *hung) blanks() {
	p := &press{about: About{Title: h.r.Layout().Title}, pdf: h.pdf, latin: h.latin, blank: true}
	b := register.NewBook(h.r, h.box.ID, setAt)
	for _, page := range register.Pages(h.r, h.box.ID) {
		p.empty(b, page)
	}
}
