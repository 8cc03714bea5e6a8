package main

import (
	"strings"
	"unicode/utf8"
)

// pageWidth is the most that a line for people is long, in columns of a terminal.
const pageWidth = 100

// wrap breaks a text into lines of at most so many letters, between words. A longer word has a line of its own.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(text) {
		switch {
		case line == "":
			line = w
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) <= width:
			line += " " + w
		default:
			lines = append(lines, line)
			line = w
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// pad makes a text so many letters long.
func pad(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(text)))
}
