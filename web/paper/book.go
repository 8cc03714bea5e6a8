package paper

import (
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"taillamp/block/register"
)

// About is what stands at the head of every sheet.
type About struct {
	Title   string    // of the district
	Sitting string    // its name in the bookcase
	Began   time.Time // when it did
}

// Sizes in millimetres. A page of a book has twenty ruled lines.
const (
	wide, high   = 297.0, 210.0
	margin       = 10.0
	headHeight   = 16.0
	groupHeight  = 5.0
	columnHeight = 6.0
	lineHeight   = 7.9
	linesOnPage  = 20
)

// WriteBooks writes the books one after the other, each beginning on a new sheet: Down and Up by turns, as they face each
// other in the book, then the pages of branches. The same books give the same bytes.
func WriteBooks(w io.Writer, about About, books ...*register.Book) error {
	p := &press{about: about, pdf: fpdf.New("L", "mm", "A4", "")}
	p.latin = p.pdf.UnicodeTranslatorFromDescriptor("")
	p.pdf.SetCreationDate(about.Began)
	p.pdf.SetModificationDate(about.Began)
	p.pdf.SetCatalogSort(true)
	p.pdf.SetTitle("Train registers, "+about.Title+", "+about.Sitting, true)
	p.pdf.SetMargins(margin, margin, margin)
	p.pdf.SetAutoPageBreak(false, 0)
	for _, b := range books {
		p.book(b)
	}
	return p.pdf.Output(w)
}

// press is a document while it is written.
type press struct {
	about About
	pdf   *fpdf.Fpdf
	latin func(string) string // into the letters that the type has
	blank bool                // nothing is written: black on white
}

// side is one side of a book, Down or Up, cut into sheets.
type side struct {
	name   string
	sheets [][]line
}

// line is what stands in one place of a page, as high as it needs: some remarks take more than one ruled line.
type line struct {
	of    register.Line
	lines int
}

func (p *press) book(b *register.Book) {
	sides := p.sides(b)
	if len(sides) == 0 {
		sides = []side{{name: "Down", sheets: [][]line{nil}}}
	}
	for i := 0; i < len(sides); i++ {
		facing := sides[i : i+1]
		if sides[i].name == "Down" && i+1 < len(sides) && sides[i+1].name == "Up" {
			facing = sides[i : i+2]
			i++
		}
		most := 0
		for _, s := range facing {
			most = max(most, len(s.sheets))
		}
		for n := range most {
			for _, s := range facing {
				if n < len(s.sheets) {
					p.sheet(b, s.name, n+1, len(s.sheets), s.sheets[n])
				}
			}
		}
	}
}

// sides sorts the lines of a book to its pages. What is written across stands on the side of the line that it concerns,
// else on the Down side.
func (p *press) sides(b *register.Book) []side {
	var names []string
	of := make(map[string][]line)
	for _, l := range b.Lines() {
		name := l.Page
		if l.Kind != register.TrainRow {
			name = "Down"
			if strings.HasPrefix(l.Concerns, "Up") {
				name = "Up"
			}
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		of[name] = append(of[name], line{l, p.needs(l)})
	}
	slices.SortStableFunc(names, func(a, b string) int { return rank(a) - rank(b) })
	var sides []side
	for _, name := range names {
		s := side{name: name}
		room := 0
		for _, l := range of[name] {
			if l.lines > room {
				s.sheets, room = append(s.sheets, nil), linesOnPage
			}
			last := &s.sheets[len(s.sheets)-1]
			*last, room = append(*last, l), room-l.lines
		}
		sides = append(sides, s)
	}
	return sides
}

func rank(page string) int {
	switch page {
	case "Down":
		return 0
	case "Up":
		return 1
	}
	return 2
}
