package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"rsc.io/qr"
)

// quiet is the empty margin that a QR code needs on every side, in its own modules (ISO/IEC 18004).
const quiet = 4

// drawQR draws a text as a QR code, two of its rows a line. On a terminal it is black on white whatever the terminal's
// own colours are, because not every camera reads the opposite.
func drawQR(text string, colours bool) ([]string, error) {
	code, err := qr.Encode(text, qr.L)
	if err != nil {
		return nil, fmt.Errorf("draw a QR code of %q: %w", text, err)
	}
	before, after := "", ""
	if colours {
		before, after = "\x1b[30;107m", "\x1b[0m"
	}
	var lines []string
	for y := -quiet; y < code.Size+quiet; y += 2 {
		var b strings.Builder
		for x := -quiet; x < code.Size+quiet; x++ {
			b.WriteString(half(code.Black(x, y), code.Black(x, y+1)))
		}
		lines = append(lines, before+b.String()+after)
	}
	return lines, nil
}

// half is two modules one above the other as one letter.
func half(upper, lower bool) string {
	switch {
	case upper && lower:
		return "█"
	case upper:
		return "▀"
	case lower:
		return "▄"
	}
	return " "
}

// isTerminal tells whether somebody reads w on a screen that knows colours.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok || os.Getenv("TERM") == "dumb" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
