package sounds

import (
	"cmp"
	"fmt"
	"html"
	"io"
	"math"
	"slices"
	"strings"
)

// The sheet on which voices are drawn, in its own units. Every voice has one row; all rows have the same scales, so
// that two voices can be compared by eye.
const (
	sheetWide  = 1000
	rowHigh    = 190
	panelHigh  = 120
	panelTop   = 34 // of a row
	envelopeAt = 250
	spectrumAt = 610
	panelWide  = 320

	deepest  = 60.0  // dB below the highest that a panel shows
	shown    = 1.2   // seconds of the envelope
	lowest   = 200.0 // hertz of the spectrum
	topmost  = 10000.0
	spectral = 0.125 // seconds of sound that the spectrum is taken from
)

// WriteDrawing draws voices as an SVG image, one below the other: on the left the envelope, how loud a stroke is as
// it dies away, on the right the spectrum, which pitches it has in its first eighth of a second. Both are measured
// in the rendered samples. The strongest partials have their pitch in hertz beside them.
func WriteDrawing(w io.Writer, voices ...Voice) error {
	var b strings.Builder
	high := rowHigh*len(voices) + 10
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%[1]d" height="%[2]d" `+
		`font-family="Cabin, 'Gill Sans', sans-serif" font-size="13" fill="#1d2226">`+"\n", sheetWide, high)
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#f3e8c9"/>`+"\n", sheetWide, high)
	for i, v := range voices {
		fmt.Fprintf(&b, `<g transform="translate(0 %d)">`+"\n", i*rowHigh)
		drawVoice(&b, v)
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write drawing: %w", err)
	}
	return nil
}

func drawVoice(b *strings.Builder, v Voice) {
	samples := v.Stroke(Rate, 1)
	fmt.Fprintf(b, `<text x="20" y="52" font-size="22" font-weight="600">%s</text>`+"\n", html.EscapeString(v.Name))
	lines := append(inLines(v.Says, 36), fmt.Sprintf("heard at %.0f Hz, %.2f s long", v.Heard, v.Long().Seconds()))
	for i, line := range lines {
		fmt.Fprintf(b, `<text x="20" y="%d">%s</text>`+"\n", 76+18*i, html.EscapeString(line))
	}
	frame(b, envelopeAt, "envelope, dB", seconds())
	trace(b, envelopeAt, envelope(samples))
	frame(b, spectrumAt, "spectrum, dB", pitches())
	trace(b, spectrumAt, skyline(samples))
	nameCrests(b, v)
}

// nameCrests writes the pitches of the strongest partials over the spectrum, one higher where two would collide.
func nameCrests(b *strings.Builder, v Voice) {
	strong := v.Strongest(3)
	slices.SortFunc(strong, func(p, q Partial) int { return cmp.Compare(p.Ratio, q.Ratio) })
	const apart, line = 34, 12
	last, y := math.Inf(-1), panelTop-6
	for _, p := range strong {
		hz := v.Base * p.Ratio
		x := spectrumAt + place(hz)
		if x-last < apart && y == panelTop-6 {
			y -= line
		} else {
			y = panelTop - 6
		}
		last = x
		fmt.Fprintf(b, `<text x="%.1f" y="%d" font-size="11" text-anchor="middle" fill="#23365c">%.0f</text>`+"\n", x, y, hz)
	}
}

// inLines breaks words into lines of at most so many letters.
func inLines(words string, most int) []string {
	lines := []string{""}
	for _, w := range strings.Fields(words) {
		last := &lines[len(lines)-1]
		switch {
		case *last == "":
			*last = w
		case len(*last)+1+len(w) > most:
			lines = append(lines, w)
		default:
			*last += " " + w
		}
	}
	return lines
}

// A tick is a line across a panel, and what stands under it.
type tick struct {
	x     float64
	label string
}

func seconds() []tick {
	var all []tick
	for t := 0.0; t <= shown+1e-9; t += 0.2 {
		all = append(all, tick{panelWide * t / shown, fmt.Sprintf("%.1f", t)})
	}
	all[len(all)-1].label += " s"
	return all
}

func pitches() []tick {
	var all []tick
	for _, hz := range []float64{200, 500, 1000, 2000, 5000, 10000} {
		all = append(all, tick{place(hz), fmt.Sprintf("%g", hz)})
	}
	all[len(all)-1].label += " Hz"
	return all
}

// place is where a pitch stands across the spectrum: every octave is as wide as the next.
func place(hz float64) float64 {
	return panelWide * math.Log(hz/lowest) / math.Log(topmost/lowest)
}

// frame draws the ruled paper of a panel: a line each 20 dB, and the ticks.
func frame(b *strings.Builder, x int, title string, ticks []tick) {
	fmt.Fprintf(b, `<g transform="translate(%d %d)" stroke="#cdb98a" fill="#5a584f" font-size="11">`+"\n", x, panelTop)
	fmt.Fprintf(b, `<rect width="%d" height="%d" fill="#fffaec"/>`+"\n", panelWide, panelHigh)
	for db := 0; db <= deepest; db += 20 {
		y := float64(panelHigh*db) / deepest
		fmt.Fprintf(b, `<path d="M0 %.1fh%d"/><text x="-6" y="%.1f" stroke="none" text-anchor="end">%d</text>`+"\n",
			y, panelWide, y+4, -db)
	}
	for _, t := range ticks {
		fmt.Fprintf(b, `<path d="M%.1f 0v%d"/><text x="%.1f" y="%d" stroke="none" text-anchor="middle">%s</text>`+"\n",
			t.x, panelHigh, t.x, panelHigh+15, t.label)
	}
	fmt.Fprintf(b, `<text x="%d" y="16" stroke="none" text-anchor="end">%s</text></g>`+"\n", panelWide-8, title)
}

// trace draws one level for each unit across a panel, in dB below the highest of them.
func trace(b *strings.Builder, x int, levels []float64) {
	top := 0.0
	for _, l := range levels {
		top = max(top, l)
	}
	fmt.Fprintf(b, `<path transform="translate(%d %d)" fill="none" stroke="#23365c" stroke-width="1.4" stroke-linejoin="round" d="`,
		x, panelTop)
	for i, l := range levels {
		below := deepest
		if l > 0 {
			below = min(-20*math.Log10(l/top), deepest)
		}
		letter := 'L'
		if i == 0 {
			letter = 'M'
		}
		fmt.Fprintf(b, "%c%d %.1f", letter, i, panelHigh*below/deepest)
	}
	b.WriteString(`"/>` + "\n")
}

// envelope is the level of each stretch of a stroke, as many as the panel is wide.
func envelope(samples []float32) []float64 {
	levels := make([]float64, panelWide)
	const step = shown * Rate / panelWide
	for i := range levels {
		from, to := min(i*step, len(samples)), min((i+1)*step, len(samples))
		for _, x := range samples[from:to] {
			levels[i] += float64(x) * float64(x) / step
		}
		levels[i] = math.Sqrt(levels[i])
	}
	return levels
}

// skyline is the level of each pitch across the panel: Goertzel's algorithm under a Hann window.
func skyline(samples []float32) []float64 {
	levels := make([]float64, panelWide)
	frame := make([]float64, min(len(samples), spectral*Rate))
	for i := range frame {
		frame[i] = float64(samples[i]) * (1 - math.Cos(2*math.Pi*float64(i)/float64(len(frame)))) / 2
	}
	for i := range levels {
		hz := lowest * math.Pow(topmost/lowest, float64(i)/panelWide)
		c := 2 * math.Cos(2*math.Pi*hz/Rate)
		var s1, s2 float64
		for _, x := range frame {
			s1, s2 = x+c*s1-s2, s1
		}
		levels[i] = math.Sqrt(max(s1*s1+s2*s2-c*s1*s2, 0))
	}
	return levels
}
