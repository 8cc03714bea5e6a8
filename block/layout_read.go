package block

import (
	"fmt"

	"github.com/pelletier/go-toml/v2"
)

// ReadLayout reads a layout file and fills every default. The error is of type Flaws and holds every flaw of the
// file. What is legal but risky says Layout.Check; whether the sequence fits, Layout.CheckSequence.
func ReadLayout(text []byte) (*Layout, error) {
	l := &Layout{Settings: defaultSettings()}
	lines, flaws := fill(text, l)
	l.lines = lines
	if lines.broken {
		return nil, flaws.orNil() // nothing of it was understood
	}
	l.fillPlaces()
	l.fillDefaults()
	c := &layoutChecker{Layout: l, marred: marred(flaws)}
	c.check()
	if flaws = append(flaws, c.flaws...); len(flaws) > 0 {
		return nil, flaws.orNil()
	}
	return l, nil
}

// marred names the fields that have a flaw already, and the tables they stand in.
func marred(flaws Flaws) map[string]bool {
	m := make(map[string]bool)
	for _, f := range flaws {
		m[f.Field] = true
		if outside(f.Field) == "" {
			m[""] = true
		}
		for path := outside(f.Field); path != ""; path = outside(path) {
			m[path] = true
		}
	}
	return m
}

// Text is the layout as a file with every default written out. ReadLayout gives an equal layout back.
func (l *Layout) Text() []byte {
	text, err := toml.Marshal(l)
	if err != nil {
		panic(fmt.Sprintf("block: a layout that cannot be written: %v", err)) // no value of ours is unwritable
	}
	return text
}
