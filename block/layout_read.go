package block

import (
	"fmt"

	"github.com/pelletier/go-toml/v2"
)

// ReadLayout reads a layout file and fills every default. The error is of type Flaws and holds every flaw of the
// file. Whether the sequence fits and what is legal but risky says Layout.Check.
func ReadLayout(text []byte) (*Layout, error) {
	l := &Layout{Settings: defaultSettings()}
	lines, flaws := fill(text, l)
	l.fillDefaults()
	if len(flaws) > 0 {
		return nil, flaws.orNil()
	}
	l.lines = lines
	if flaws, _ := l.Check(); len(flaws) > 0 {
		return nil, flaws.orNil()
	}
	return l, nil
}

// Text is the layout as a file with every default written out. ReadLayout gives an equal layout back.
func (l *Layout) Text() []byte {
	text, err := toml.Marshal(l)
	if err != nil {
		panic(fmt.Sprintf("block: a layout that cannot be written: %v", err)) // no value of ours is unwritable
	}
	return text
}
