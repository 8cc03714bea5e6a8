package paper

import (
	"fmt"
	"math"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"taillamp/block/register"
)

// The foot of every sheet.
const safety = "For hobby and training only. It is never the only protection of anything, above all of passenger-carrying miniature lines."

// printed and written are the two hands of a page: what the printer set, and what the signaller wrote.
func (p *press) printed(size float64, bold bool) {
	style := ""
	if bold {
		style = "B"
	}
	p.pdf.SetFont("Helvetica", style, size)
	p.pdf.SetTextColor(0, 0, 0)
}

func (p *press) written(size float64) {
	p.pdf.SetFont("Times", "I", size)
	p.pdf.SetTextColor(20, 32, 66)
}

// The sizes of what is written, in points.
const (
	timeSize   = 10.5
	remarkSize = 8.0
	acrossSize = 10.5
)

// needs is how many ruled lines something takes.
func (p *press) needs(l register.Line) int {
	if l.Kind != register.TrainRow {
		p.written(acrossSize)
		return max(len(p.folded(across(l), wide-2*margin-4)), 1)
	}
	p.written(remarkSize)
	cols := columns()
	return max(int(math.Ceil(float64(len(p.folded(remarks(l), cols[len(cols)-1].wide-2)))/2)), 1)
}

// folded breaks words into lines that fit a width.
func (p *press) folded(words string, room float64) []string {
	var lines []string
	for _, word := range strings.Fields(p.latin(words)) {
		if n := len(lines) - 1; n >= 0 && p.pdf.GetStringWidth(lines[n]+" "+word) <= room {
			lines[n] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

// sheet prints one page of a book.
func (p *press) sheet(b *register.Book, page string, no, of int, lines []line) {
	p.pdf.AddPage()
	p.printedOn(b, page, no, of)
	top := margin + headHeight
	hour := ""
	y := top + groupHeight + columnHeight
	for _, l := range lines {
		if l.of.Kind == register.TrainRow {
			hour = p.train(l.of, y, hour)
		} else {
			p.across(l, y)
		}
		y += float64(l.lines) * lineHeight
	}
}

// printedOn prints what the printer set on a page: its head, the ruling and the foot.
func (p *press) printedOn(b *register.Book, page string, no, of int) {
	p.heading(b, page, no, of)
	p.ruling(margin + headHeight)
	p.printed(9, false)
	p.pdf.Text(margin, high-margin+3, p.latin(safety))
}

// empty prints a page with nothing written on it, and where its date, its number and whoever keeps it are to be written.
func (p *press) empty(b *register.Book, page string) {
	p.pdf.AddPageFormat("L", fpdf.SizeType{Wd: high, Ht: wide})
	p.printedOn(b, page, 0, 0)
	p.printed(9, false)
	p.pdf.SetDrawColor(0, 0, 0)
	p.pdf.SetLineWidth(0.15)
	for _, w := range []struct {
		words    string
		from, to float64
	}{{"Date", 128, 168}, {"Signalman", 172, 246}, {"Page", 250, wide - margin}} {
		p.pdf.Text(w.from, margin+11.5, w.words)
		p.pdf.Line(w.from+p.pdf.GetStringWidth(w.words)+1.5, margin+12, w.to, margin+12)
	}
}

// ink is a colour of the printer's; blank pages are black on white and tell their lines apart by thickness alone.
func (p *press) ink(r, g, b int) {
	if p.blank {
		r, g, b = 0, 0, 0
	}
	p.pdf.SetDrawColor(r, g, b)
}

func (p *press) heading(b *register.Book, page string, no, of int) {
	name := b.Name
	if name == "" {
		name = string(b.Box)
	}
	p.printed(15, true)
	p.pdf.Text(margin, margin+6, p.latin("Train register, "+name))
	p.printed(9, false)
	under := p.about.Title
	if !p.about.Began.IsZero() {
		under += ", " + p.about.Began.Format("Monday 2 January 2006") + ", " + p.about.Sitting
	}
	p.pdf.Text(margin, margin+11.5, p.latin(under))
	p.printed(15, true)
	p.right(page, margin+6)
	p.printed(9, false)
	if of > 0 {
		p.right(fmt.Sprintf("page %d of %d", no, of), margin+11.5)
	}
}

func (p *press) right(words string, y float64) {
	words = p.latin(words)
	p.pdf.Text(wide-margin-p.pdf.GetStringWidth(words), y, words)
}

// ruling prints the columns and the lines.
func (p *press) ruling(top float64) {
	foot := top + groupHeight + columnHeight + linesOnPage*lineHeight
	p.ink(132, 116, 78)
	p.pdf.SetLineWidth(0.15)
	for n := range linesOnPage {
		y := top + groupHeight + columnHeight + float64(n+1)*lineHeight
		p.pdf.Line(margin, y, wide-margin, y)
	}
	x, group := margin, ""
	cols := columns()
	for i, c := range cols {
		p.ink(132, 116, 78)
		p.pdf.SetLineWidth(0.15)
		from := top + groupHeight
		if c.group != group {
			p.pdf.SetLineWidth(0.35)
			p.ink(150, 60, 48)
			from = top
			group = c.group
			across := 0.0
			for _, d := range cols[i:] {
				if d.group == group {
					across += d.wide
				}
			}
			p.printed(9, true)
			p.middle(group, x, across, top+groupHeight-1.4)
		}
		p.pdf.Line(x, from, x, foot)
		p.printed(9, false)
		p.middle(c.head, x, c.wide, top+groupHeight+columnHeight-1.8)
		x += c.wide
	}
	p.ink(60, 54, 40)
	p.pdf.SetLineWidth(0.4)
	p.pdf.Rect(margin, top, wide-2*margin, foot-top, "D")
	p.pdf.Line(margin, top+groupHeight+columnHeight, wide-margin, top+groupHeight+columnHeight)
}

func (p *press) middle(words string, x, room, y float64) {
	if words == "" {
		return
	}
	words = p.latin(words)
	p.pdf.Text(x+(room-p.pdf.GetStringWidth(words))/2, y, words)
}

// train writes one line of the book: the hour where it changes, the minutes alone afterwards. It gives the hour that the
// line began in.
func (p *press) train(l register.Line, y float64, hour string) (began string) {
	base := y + lineHeight - 2.3
	x := margin
	cols := columns()
	for _, c := range cols[:len(cols)-1] {
		p.written(timeSize)
		if c.words != nil {
			p.middle(c.words(l), x, c.wide, base)
		} else {
			p.struck(struckIn(l, c.name), x, y)
			if w, ok := written(l, c.name); ok {
				h, _, _ := strings.Cut(w.Time, ".")
				words := w.Short
				if h != hour {
					words, hour = w.Time, h
				}
				if began == "" {
					began = h
				}
				p.written(timeSize)
				p.middle(words, x, c.wide, base)
			}
		}
		x += c.wide
	}
	p.written(remarkSize)
	for i, words := range p.folded(remarks(l), cols[len(cols)-1].wide-2) {
		p.pdf.Text(x+1, y+3.2+float64(i)*lineHeight/2, words)
	}
	if l.Void {
		p.pdf.SetDrawColor(20, 32, 66)
		p.pdf.SetLineWidth(0.3)
		p.pdf.Line(margin+1, base-1.2, wide-margin-cols[len(cols)-1].wide, base-1.2)
	}
	if began == "" {
		return hour
	}
	return began
}

// struck writes what was ruled through small above what stands, with the rule: it stays legible.
func (p *press) struck(all []register.Written, x, y float64) {
	p.written(7)
	p.pdf.SetDrawColor(20, 32, 66)
	p.pdf.SetLineWidth(0.25)
	at := x + 0.6
	for _, s := range all {
		words := p.latin(s.Time)
		p.pdf.Text(at, y+2.6, words)
		w := p.pdf.GetStringWidth(words)
		p.pdf.Line(at, y+1.8, at+w, y+1.8)
		at += w + 0.8
	}
}

// across writes what has no column over the whole page; an emergency stands out.
func (p *press) across(l line, y float64) {
	p.pdf.SetFillColor(255, 255, 255)
	p.pdf.Rect(margin+0.3, y+0.3, wide-2*margin-0.6, float64(l.lines)*lineHeight-0.6, "F")
	p.written(acrossSize)
	for i, words := range p.folded(across(l.of), wide-2*margin-4) {
		p.pdf.Text(margin+2, y+float64(i+1)*lineHeight-2.3, words)
	}
	if l.of.Urgent {
		p.pdf.SetDrawColor(150, 30, 24)
		p.pdf.SetLineWidth(0.6)
		p.pdf.Rect(margin+0.6, y+0.6, wide-2*margin-1.2, float64(l.lines)*lineHeight-1.2, "D")
	}
	if l.of.Void {
		p.pdf.SetDrawColor(20, 32, 66)
		p.pdf.SetLineWidth(0.3)
		p.pdf.Line(margin+2, y+lineHeight-3.5, wide-margin-2, y+lineHeight-3.5)
	}
}
