package paper

// ruled is a column of a table on a notice.
type ruled struct {
	head string
	wide float64 // millimetres; 0: what the others leave
	bold bool
}

// table prints rows in ruled columns. A row is never parted, and every sheet has the heads of the columns.
func (h *hung) table(columns []ruled, rows [][]string) {
	size := h.points(11, smallest)
	step := leading(size)
	left := h.wide - 2*edge
	for _, c := range columns {
		left -= c.wide
	}
	for i := range columns {
		if columns[i].wide == 0 {
			columns[i].wide = left
		}
	}
	style := map[bool]string{true: "B"}
	top := 0.0
	head := func() {
		h.y -= step
		top = h.y
		h.pdf.SetLineWidth(0.4)
		h.pdf.Line(edge, top, h.wide-edge, top)
		h.font("Helvetica", "B", smallest)
		x := edge
		for _, c := range columns {
			h.pdf.Text(x+1, top+step-0.6, h.latin(c.head))
			x += c.wide
		}
		h.y += step + 1.2
		h.pdf.Line(edge, h.y, h.wide-edge, h.y)
	}
	close := func() { // the lines between the columns, as far as the sheet is filled
		x := edge
		h.pdf.SetLineWidth(0.1)
		for _, c := range columns {
			if x > edge {
				h.pdf.Line(x, top, x, h.y)
			}
			x += c.wide
		}
		h.pdf.SetLineWidth(0.4)
		h.pdf.Rect(edge, top, h.wide-2*edge, h.y-top, "D")
	}
	head()
	for _, row := range rows {
		lines := 1
		cells := make([][]string, len(row))
		for i, words := range row {
			h.font("Helvetica", style[columns[i].bold], size)
			cells[i] = h.folded(words, columns[i].wide-1.6)
			lines = max(lines, len(cells[i]))
		}
		high := float64(lines)*step + 1.4
		if h.y+high > h.high-edge-footRoom {
			close()
			h.begin(h.title)
			head()
		}
		x := edge
		for i, cell := range cells {
			h.font("Helvetica", style[columns[i].bold], size)
			for n, words := range cell {
				h.pdf.Text(x+1, h.y+float64(n+1)*step-0.5, words)
			}
			x += columns[i].wide
		}
		h.y += high
		h.pdf.SetLineWidth(0.1)
		h.pdf.Line(edge, h.y, h.wide-edge, h.y)
	}
	close()
}
