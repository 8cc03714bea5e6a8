package block

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// BareLayout is a district with nothing in it yet, every setting at its default: what notes without a layout begin with.
func BareLayout() *Layout {
	return &Layout{Format: 1, Title: "Notes", Book: "1960-letters", Clock: ClockKind{Kind: "none", Speed: 1}, Settings: defaultSettings()}
}

// BareBox is a box of which only the place and the clearing point (yards) are known.
func BareBox(id BoxID, at, clearing Yards) Box {
	return Box{ID: id, Name: string(id), At: at, Worked: "either", Clearing: clearing, Accepts: "clearing"}
}

// DoubleLine joins two neighbours by a Down and an Up main line of that many yards, worked by absolute block.
func DoubleLine(a, b BoxID, yards Yards) Between {
	return Between{Boxes: []BoxID{a, b}, Yards: yards, MPH: 60, Method: absoluteName, Level: Free, Book: "1960-letters",
		Lines: []Line{
			{Name: "Down Main", Way: "down", Method: absoluteName, MPH: 60},
			{Name: "Up Main", Way: "up", Method: absoluteName, MPH: 60},
		}}
}

// SetSetting alters one setting by its name in a layout: "settle" to "30s", "halfMinutes" to "on".
func SetSetting(s *Settings, name, value string) error {
	spans := map[string]*Duration{"settle": &s.Settle, "attentionHold": &s.AttentionHold, "failGap": &s.FailGap}
	flags := map[string]*bool{"halfMinutes": &s.HalfMinutes, "sameRoom": &s.SameRoom, "meanings": &s.Meanings}
	words := map[string]struct {
		to  *string
		may []string
	}{"tesOn": {&s.TesOn, []string{"passes", "starts"}}, "fogRule": {&s.FogRule, []string{"off", "double"}}, "telephone": {&s.Telephone, []string{"two", "circuit", "none"}}, "leversAt": {&s.LeversAt, []string{"tablet", "layout"}}}
	if to, ok := spans[name]; ok {
		d, err := time.ParseDuration(value)
		if err != nil || d <= 0 {
			return fmt.Errorf("%s is %q; write a span of time such as 30s or 10m", name, value)
		}
		*to = Duration(d)
		return nil
	}
	if to, ok := flags[name]; ok {
		if value != "on" && value != "off" {
			return fmt.Errorf("%s is %q; it is on or off", name, value)
		}
		*to = value == "on"
		return nil
	}
	if w, ok := words[name]; ok {
		if !slices.Contains(w.may, value) {
			return fmt.Errorf("%s is %q; it is %s", name, value, strings.Join(w.may, " or "))
		}
		*w.to = value
		return nil
	}
	if name == "longTime" {
		n, err := strconv.ParseFloat(value, 64)
		if err != nil || n < 1 {
			return fmt.Errorf("longTime is %q; write how many times the usual is unusually long, such as 3", value)
		}
		s.LongTime = n
		return nil
	}
	return fmt.Errorf("no setting is called %q; there are settle, attentionHold, failGap, longTime, tesOn, fogRule, telephone, halfMinutes, sameRoom, meanings, lamps, levers, leversAt, cautions and collars", name)
}

// SetMethod makes one more line between two boxes, worked by another method: "token" with "tokens 10 10",
// "permissive" with "capacity 3". Boxes that are no neighbours yet become so.
func SetMethod(l *Layout, method string, a, b BoxID, more []string) error {
	if methodOf(method) == nil {
		return fmt.Errorf("no method is called %q; write absolute, token, tablet, electricStaff, oneTrain, staffTicket, staffTicketBlock, trackCircuit or permissive", method)
	}
	line := Line{Name: "Single", Way: "both", Method: method, MPH: 30}
	if method == permissiveName {
		line = Line{Name: "Goods Loop", Way: "down", Method: method, Capacity: 2, MPH: 20}
	}
	if method == trackCircuitName {
		line = Line{Name: "Down Main", Way: "down", Method: method, MPH: 60}
	}
	if err := fillLine(&line, a, b, more); err != nil {
		return err
	}
	for i := range l.Between {
		j := &l.Between[i]
		if j.Boxes[0] == a && j.Boxes[1] == b || j.Boxes[0] == b && j.Boxes[1] == a {
			if method == permissiveName {
				if j.Boxes[0] == b {
					line.Way = "up"
				}
				j.Lines = append(j.Lines, line)
				return nil
			}
			if method == trackCircuitName { // both lines
				up := line
				up.Name, up.Way = "Up Main", "up"
				j.Method, j.Lines = method, []Line{line, up}
				return nil
			}
			j.Method, j.Lines = method, []Line{line} // a single line takes the place of the double one
			return nil
		}
	}
	for _, id := range []BoxID{a, b} {
		if !slices.ContainsFunc(l.Boxes, func(x Box) bool { return x.ID == id }) {
			return fmt.Errorf("no box is called %s; name two boxes of the layout", id)
		}
	}
	l.Between = append(l.Between, Between{Boxes: []BoxID{a, b}, Yards: 1760, MPH: 30, Method: method, Level: Free, Book: l.Book,
		Lines: []Line{line}})
	return nil
}

// fillLine reads what follows a method in notes: "tokens 10 10", "capacity 3".
func fillLine(line *Line, a, b BoxID, more []string) error {
	for len(more) > 0 {
		switch {
		case more[0] == "tokens" && len(more) >= 3:
			n, errN := strconv.Atoi(more[1])
			m, errM := strconv.Atoi(more[2])
			if errN != nil || errM != nil || n < 0 || m < 0 || n+m == 0 {
				return fmt.Errorf("tokens %s %s are no numbers of tokens; write them as tokens 10 10", more[1], more[2])
			}
			line.Tokens = map[BoxID]int{a: n, b: m}
			more = more[3:]
		case more[0] == "oneWay":
			line.OneWay = true
			more = more[1:]
		case more[0] == "siding" && len(more) >= 2:
			line.Siding = more[1]
			more = more[2:]
		case more[0] == "staff" && len(more) >= 2:
			line.Staff = BoxID(more[1])
			more = more[2:]
		case more[0] == "interval" && len(more) >= 2:
			d, err := time.ParseDuration(more[1])
			if err != nil || d <= 0 {
				return fmt.Errorf("interval %q is no span of time; write it as interval 10m", more[1])
			}
			line.Interval = Duration(d)
			more = more[2:]
		case more[0] == "capacity" && len(more) >= 2:
			n, err := strconv.Atoi(more[1])
			if err != nil || n < 1 {
				return fmt.Errorf("capacity %q is no number of trains; write it as capacity 2", more[1])
			}
			line.Capacity = n
			more = more[2:]
		case more[0] == "answer" && len(more) >= 2:
			if more[1] != repeatAnswer && more[1] != occupiedAnswer {
				return fmt.Errorf("answer %q is not known; write answer repeat or answer 2-4-1", more[1])
			}
			line.Answer = more[1]
			more = more[2:]
		default:
			return fmt.Errorf("%q is not understood after a method; write tokens 10 10, oneWay, siding Moor, staff A, interval 10m, capacity 2 or answer 2-4-1", strings.Join(more, " "))
		}
	}
	return nil
}

// BareSequence is a sequence, as CSV, of trains of which only number and code are known: rows of "4,1-3-1".
func BareSequence(l *Layout, rows []string) string {
	var b strings.Builder
	b.WriteString("train,class,code,from,to\n")
	first, last := l.Boxes[0].ID, l.Boxes[len(l.Boxes)-1].ID
	for _, row := range rows {
		train, code, _ := strings.Cut(row, ",")
		fmt.Fprintf(&b, "%s,,%s,%s,%s\n", train, code, first, last)
	}
	return b.String()
}
