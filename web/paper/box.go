package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"

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
}

// WriteBox writes what hangs in one box: the card of its bell codes, its special instructions, the sequence of its trains,
// and blank pages for its register, which are always A4. Black on white, nothing under nine points. The same layout
// gives the same bytes.
func WriteBox(w io.Writer, r *block.Rules, box block.BoxID, c Choice) error {
	size := c.Size
	if size == "" {
		size = "A4"
	}
	b, _ := r.Box(box)
	if c.Sequence == nil {
		c.Sequence = r.Timetable()
	}
	h := &hung{r: r, box: b, trains: c.Sequence.WithOff(), pdf: fpdf.New("P", "mm", size, "")}
	h.latin = h.pdf.UnicodeTranslatorFromDescriptor("")
	h.pdf.SetCatalogSort(true)
	h.pdf.SetCreationDate(setAt)
	h.pdf.SetModificationDate(setAt)
	h.pdf.SetTitle("Papers of "+b.Name, true)
	h.pdf.SetMargins(edge, edge, edge)
	h.pdf.SetAutoPageBreak(false, 0)
	h.wide, h.high = h.pdf.GetPageSize()
	h.codes()
	h.instructions()
	h.sequence(c.Times)
	h.blanks()
	return h.pdf.Output(w)
}

// hung are the papers of one box while they are written.
type hung struct {
	r          *block.Rules
	box        block.Box
	trains     []block.Working // those withdrawn among them
	pdf        *fpdf.Fpdf
	latin      func(string) string
	wide, high float64
	y          float64
	title      string
}

// Sizes in millimetres and points.
const (
	edge     = 12.0
	body     = 10.0 // points
	smallest = 9.0
	leading  = 4.6 // from line to line
)

func (h *hung) font(style string, size float64) {
	h.pdf.SetFont("Helvetica", style, size)
	h.pdf.SetTextColor(0, 0, 0)
	h.pdf.SetDrawColor(0, 0, 0)
}

// begin begins a sheet with its printed head.
func (h *hung) begin(title string) {
	h.title = title
	h.pdf.AddPageFormat("P", fpdf.SizeType{Wd: h.wide, Ht: h.high})
	h.pdf.SetLineWidth(0.8)
	h.pdf.SetDrawColor(0, 0, 0)
	h.pdf.Rect(edge-4, edge-4, h.wide-2*edge+8, h.high-2*edge+8, "D")
	h.font("B", 15)
	h.middle(strings.ToUpper(h.box.Name), edge+6)
	h.font("B", 11)
	h.middle(title, edge+12)
	h.font("", smallest)
	h.middle(h.r.Layout().Title, edge+17)
	h.pdf.SetLineWidth(0.3)
	h.pdf.Line(edge, edge+19.5, h.wide-edge, edge+19.5)
	h.y = edge + 25
	h.font("", smallest)
	foot := h.folded(safety, h.wide-2*edge)
	for i, words := range foot {
		h.middle(words, h.high-edge+1-float64(len(foot)-1-i)*4)
	}
}

func (h *hung) middle(words string, y float64) {
	words = h.latin(words)
	h.pdf.Text((h.wide-h.pdf.GetStringWidth(words))/2, y, words)
}

// room has a new sheet begun where so much no longer fits.
func (h *hung) room(need float64) bool {
	if h.y+need <= h.high-edge-10 {
		return false
	}
	h.begin(h.title)
	return true
}

func (h *hung) folded(words string, room float64) []string {
	var lines []string
	for _, word := range strings.Fields(h.latin(words)) {
		if n := len(lines) - 1; n >= 0 && h.pdf.GetStringWidth(lines[n]+" "+word) <= room {
			lines[n] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

// rows prints a table: the width of each column as a share of the sheet.
func (h *hung) rows(heads []string, shares []float64, rows [][]string) {
	head := func() {
		h.font("B", smallest)
		x := edge
		for i, words := range heads {
			h.pdf.Text(x+1, h.y, h.latin(words))
			x += shares[i] * (h.wide - 2*edge)
		}
		h.y += 1.8
		h.pdf.SetLineWidth(0.4)
		h.pdf.Line(edge, h.y, h.wide-edge, h.y)
		h.y += leading
	}
	h.room(20)
	head()
	for _, row := range rows {
		lines := 1
		cells := make([][]string, len(row))
		for i, words := range row {
			h.cellFont(i)
			cells[i] = h.folded(words, shares[i]*(h.wide-2*edge)-2)
			lines = max(lines, len(cells[i]))
		}
		if h.room(float64(lines)*leading + 1) {
			head()
		}
		x := edge
		for i, cell := range cells {
			h.cellFont(i)
			for n, words := range cell {
				h.pdf.Text(x+1, h.y+float64(n)*leading, words)
			}
			x += shares[i] * (h.wide - 2*edge)
		}
		h.y += float64(lines)*leading - leading + 1.4
		h.pdf.SetLineWidth(0.1)
		h.pdf.Line(edge, h.y, h.wide-edge, h.y)
		h.y += leading
	}
	h.y += 3
}

func (h *hung) cellFont(column int) {
	if column == 0 {
		h.font("B", body)
		return
	}
	h.font("", body)
}

// paragraph prints one point of a notice.
func (h *hung) paragraph(number int, words string) {
	h.font("", body+0.5)
	lines := h.folded(words, h.wide-2*edge-10)
	h.room(float64(len(lines))*leading + 3)
	h.pdf.Text(edge+1, h.y, fmt.Sprintf("%d.", number))
	for _, l := range lines {
		h.pdf.Text(edge+9, h.y, l)
		h.y += leading + 0.3
	}
	h.y += 2.5
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

// blanks are two facing pages of a register with nothing in them.
func (h *hung) blanks() {
	p := &press{about: About{Title: h.r.Layout().Title}, pdf: h.pdf, latin: h.latin}
	b := register.NewBook(h.r, h.box.ID, setAt)
	for _, page := range []string{"Down", "Up"} {
		p.blank(b, page)
	}
}
