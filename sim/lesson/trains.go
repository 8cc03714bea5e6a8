package lesson

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
)

// prepare writes the lesson as the texts of a sitting, and reads them.
func (l *Lesson) prepare() error {
	text, err := files.ReadFile("districts/" + l.District + ".toml")
	if err != nil {
		return l.evening()
	}
	layout, err := block.ReadLayout(text)
	if err != nil {
		return fmt.Errorf("district %s: %w", l.District, err)
	}
	trains, times, err := l.sequence()
	if err != nil {
		return err
	}
	l.header = block.Header{Format: 1, Zone: "Europe/London", Layout: string(text), Books: block.BookTexts(layout), Trains: trains, Times: times}
	return l.read()
}

// evening is an embedded layout with the last trains of its own sequence.
func (l *Lesson) evening() error {
	t, err := block.EmbeddedLayout(l.District)
	if err != nil {
		return fmt.Errorf("district: there is no line called %q", l.District)
	}
	layout, err := block.ReadLayout([]byte(t.Layout))
	if err != nil {
		return fmt.Errorf("district %s: %w", l.District, err)
	}
	starts := strings.Replace(l.Starts, ".", ":", 1)
	text := strings.Replace(t.Layout, `starts = "`+layout.Clock.Starts+`"`, `starts = "`+starts+`"`, 1)
	all, err := block.ReadTimetable([]byte(t.Trains), []byte(t.Times))
	if err != nil {
		return fmt.Errorf("district %s: %w", l.District, err)
	}
	late := make(map[string]bool)
	for _, w := range all.Workings {
		late[string(w.Train)] = len(w.Calls) > 0 && block.ClockText(w.Calls[0].Depart) >= l.Starts
	}
	trains, times := onlyRows(t.Trains, late), onlyRows(t.Times, late)
	l.header = block.Header{Format: 1, Zone: "Europe/London", Layout: text, Books: block.BookTexts(layout), Trains: trains, Times: times}
	return l.read()
}

// onlyRows keeps the rows of a file of the sequence that are of those trains. Stock that came in earlier stands ready.
func onlyRows(text string, of map[string]bool) string {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 {
		return text // whoever reads it says what is wrong
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	stock := slices.Index(rows[0], "stock_of")
	for n, row := range rows {
		if n > 0 && !of[row[0]] {
			continue
		}
		if n > 0 && stock >= 0 && !of[row[stock]] {
			row[stock] = ""
		}
		_ = w.Write(row) // into memory
	}
	w.Flush()
	return b.String()
}

// read makes the rules of the header.
func (l *Lesson) read() (err error) {
	if l.rules, err = l.header.Rules(); err != nil {
		return fmt.Errorf("train: %w", err)
	}
	return nil
}

// sequence writes the trains as the two files of a sequence.
func (l *Lesson) sequence() (trains, times string, err error) {
	var a, b strings.Builder
	rows, calls := csv.NewWriter(&a), csv.NewWriter(&b)
	write := func(w *csv.Writer, cells ...string) { _ = w.Write(cells) } // into memory
	write(rows, "train", "class", "code", "description", "direction", "from", "to", "max_mph", "start_s", "stop_s", "freight", "length_yd", "load", "stock_of", "note")
	write(calls, "train", "seq", "box", "line", "arrive", "pass", "depart", "where", "minimum_s", "run_s", "note")
	for n, t := range l.Trains {
		if len(t.Calls) < 2 {
			return "", "", fmt.Errorf("train %d: a train has two calls at least", n+1)
		}
		if t.No == "" {
			t.No = strconv.Itoa(n + 1)
		}
		freight, length, mph := "no", "120", t.MPH
		if t.Freight {
			freight, length = "yes", "240"
		}
		if mph == 0 {
			mph = 60
		}
		var first, last string
		for k, c := range t.Calls {
			f := strings.Fields(c)
			box := f[0]
			var when []string
			for len(f) > 1 && strings.ContainsAny(f[len(f)-1], "0123456789") {
				when, f = append([]string{f[len(f)-1]}, when...), f[:len(f)-1]
			}
			line := strings.Join(f[1:], " ")
			arrive, pass, depart := "", "", ""
			switch {
			case len(when) == 2:
				arrive, depart = when[0], when[1]
			case len(when) != 1:
				return "", "", fmt.Errorf("train %d: write a call as %q, with one time or two", n+1, "OS 10.05")
			case k == 0:
				depart = when[0]
			case k == len(t.Calls)-1:
				arrive = when[0]
			default:
				pass = when[0]
			}
			if k == 0 {
				first = box
			}
			last = box
			write(calls, t.No, strconv.Itoa(k+1), box, line, arrive, pass, depart, "", "", "", "")
		}
		write(rows, t.No, "", t.Code, t.About, "", first, last, fmt.Sprint(mph), "15", "10", freight, length, "", t.Stock, "")
	}
	rows.Flush()
	calls.Flush()
	return a.String(), b.String(), nil
}

// Begins is when a lesson that began on that day would have begun.
func (l *Lesson) Begins(day time.Time) time.Time {
	at, err := time.Parse("15:04", l.rules.Layout().Clock.Starts)
	if err != nil {
		at = time.Time{}
	}
	return time.Date(day.Year(), day.Month(), day.Day(), at.Hour(), at.Minute(), 0, 0, day.Location())
}
