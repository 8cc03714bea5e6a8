package block

import (
	"fmt"
	"time"
)

// defaultSettings are the settings of a district that says nothing (absolute-block reference, 9.1).
func defaultSettings() Settings {
	return Settings{
		Settle:        Duration(30 * time.Second),
		AttentionHold: Duration(60 * time.Second),
		LongTime:      3,
		FailGap:       Duration(10 * time.Minute),
		TesOn:         "passes",
		FogRule:       "off",
		Telephone:     "two",
		LeversAt:      "tablet",
		Meanings:      true,
		Lamps:         true,
	}
}

// A quarter of a mile beyond the home signal, unless ordered otherwise.
const quarterMile Yards = 440

// The line speed where a layout names none.
const usualMPH = 60

func (b *Box) setDefaults() { b.Clearing = quarterMile }

// fillPlaces works out where boxes stand from the yards between them, and the yards from where they stand: a file need
// say only one of the two.
func (l *Layout) fillPlaces() {
	for i := range l.Boxes {
		b := &l.Boxes[i]
		if i == 0 || l.said(element("box", i)+".at") {
			continue
		}
		for _, x := range l.Between {
			if len(x.Boxes) == 2 && x.Boxes[1] == b.ID && x.While == "" && x.Yards > 0 && l.boxNo(x.Boxes[0]) < i {
				b.At = l.Boxes[l.boxNo(x.Boxes[0])].At + x.Yards
				break
			}
		}
	}
	for i := range l.Between {
		x := &l.Between[i]
		if len(x.Boxes) != 2 || l.said(element("between", i)+".yards") {
			continue
		}
		if a, b := l.boxNo(x.Boxes[0]), l.boxNo(x.Boxes[1]); a < b && b < len(l.Boxes) {
			x.Yards = max(0, l.Boxes[b].At-l.Boxes[a].At)
		}
	}
}

// fillDefaults makes plain what the file left to its betters: the line to the pair of boxes, the pair to the district.
func (l *Layout) fillDefaults() {
	if l.Book == "" {
		l.Book = "1960-letters"
	}
	if l.Clock.Kind == "" {
		l.Clock.Kind = "none"
	}
	if l.Clock.Speed == 0 {
		l.Clock.Speed = 1
	}
	for i := range l.Boxes {
		l.Boxes[i].fillDefaults()
	}
	for i := range l.Between {
		l.Between[i].fillDefaults(l.Book)
	}
}

func (b *Box) fillDefaults() {
	if b.Name == "" {
		b.Name = string(b.ID)
	}
	if b.Worked == "" {
		b.Worked = "either"
	}
	if b.Out {
		b.Switch = true
	}
	if b.Accepts == "" {
		b.Accepts = "clearing"
		if b.Roads > 0 {
			b.Accepts = "road"
		}
	}
}

func (b *Between) fillDefaults(book string) {
	if b.Method == "" {
		b.Method = absoluteName
	}
	if b.Level == "" {
		b.Level = Free
	}
	if b.Book == "" {
		b.Book = book
	}
	if b.MPH == 0 {
		b.MPH = usualMPH
	}
	if len(b.Lines) == 0 {
		b.Lines = []Line{{Name: "Down Main", Way: "down"}, {Name: "Up Main", Way: "up"}}
		if b.Method != absoluteName && b.Method != permissiveName {
			b.Lines = []Line{{Name: "Single", Way: "both"}}
		}
	}
	for i := range b.Lines {
		b.Lines[i].fillDefaults(b)
	}
}

// usualTokens is how many tokens lie at each end where a layout does not say: enough that the lineman is not called
// (other-methods reference, 2.1: fewer than five at one end and he is).
const usualTokens = 5

// usualInterval is how long after a train another may follow it on a ticket where there are no bells. Common practice, no
// source: the minutes stood in the instructions of each line.
const usualInterval = 10 * time.Minute

func (n *Line) fillDefaults(b *Between) {
	if n.Method == "" {
		n.Method = b.Method
	}
	if n.MPH == 0 {
		n.MPH = b.MPH
	}
	if n.Way == "" && onSingle(n.Method) {
		n.Way = "both"
	}
	if n.Tokens == nil && withTokens(n.Method) && len(b.Boxes) == 2 {
		n.Tokens = map[BoxID]int{b.Boxes[0]: usualTokens, b.Boxes[1]: usualTokens}
	}
	if n.Staff == "" && withStaff(n.Method) && len(b.Boxes) == 2 {
		n.Staff = b.Boxes[0]
	}
	if n.Interval == 0 && n.Method == staffTicketName {
		n.Interval = Duration(usualInterval)
	}
	if n.Capacity == 0 {
		n.Capacity = 1
		if n.Method == permissiveName {
			n.Capacity = 2
		}
	}
}

// String gives the span as a layout writes it.
func (d Duration) String() string { return time.Duration(d).String() }

// MarshalText gives what String gives.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads "30s", "10m", "-2m".
func (d *Duration) UnmarshalText(text []byte) error {
	v, err := time.ParseDuration(string(text))
	if err != nil {
		return fmt.Errorf("%s is no span of time; write it as \"30s\" or \"10m\"", quoted(string(text)))
	}
	*d = Duration(v)
	return nil
}
