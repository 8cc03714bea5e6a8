package mqtt

import (
	"encoding/json"
	"errors"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"

	"taillamp/block"
	"taillamp/web/sitting"
)

// message is one that an instrument sent, on its way to the worker.
type message struct {
	box   block.BoxID
	what  string // does or isAt
	name  string
	text  []byte
	came  time.Time
	wrong error // it is only to be reported
}

// The faults that a message of an instrument may have. Nothing is done then.
var (
	errTopic    = errors.New("mqtt: no box and instrument under that topic")
	errLong     = errors.New("mqtt: the message is too long")
	errFast     = errors.New("mqtt: the instrument says too much")
	errRetained = errors.New("mqtt: an act may not be retained")
	errNoJSON   = errors.New("mqtt: the message cannot be read")
	errNoBell   = errors.New("mqtt: the box has no bell to that box")
	errKey      = errors.New("mqtt: not the key of that box")
)

// take has one message from the broker's hands. It waits for nothing: one who floods his topic must hold up nobody.
func (w *Wires) take(_ paho.Client, m paho.Message) {
	c := message{came: w.live.Now()}
	var ok bool
	c.box, c.what, c.name, ok = spokenBy(w.prefix, m.Topic())
	g := w.gates.nowhere
	if ok {
		if g = w.gates.find(c.box, c.name); g == nil {
			ok, g = false, w.gates.nowhere
		}
	}
	if !g.AllowN(c.came, 1) {
		c.wrong = errFast
	} else if c.text = m.Payload(); !ok {
		c.box, c.name, c.wrong = "", "", errTopic
	} else if len(c.text) > longestSaid {
		c.text, c.wrong = nil, errLong
	} else if c.what == does && m.Retained() {
		c.wrong = errRetained
	}
	select {
	case w.came <- c:
	default: // the worker is behind by so much that this one is lost; the instrument has no answer, and knows
	}
}

// said is an act of an instrument: that of a tablet, and what an instrument knows otherwise.
type said struct {
	sitting.FromTablet
	To       block.BoxID `json:"to"`       // the other end of the bell
	MS       *float64    `json:"ms"`       // by the instrument's own clock
	Run      string      `json:"run"`      // since when it has power
	Occupied *bool       `json:"occupied"` // of a detector
}

// there is an instrument that comes and goes.
type there struct {
	On    bool          `json:"on"`
	Bells []block.BoxID `json:"bells"`
}

// readAct reads what an instrument does. Nothing of it is believed but its form.
func readAct(text []byte) (said, error) {
	var s said
	if err := json.Unmarshal(text, &s); err != nil || s.Do == "" || len(s.Run) > longestName {
		return said{}, errNoJSON
	}
	if s.Act > 1<<53 || s.Line > 1<<53 || s.Pressed < 0 || s.Pressed > 1<<53 || s.MS != nil && (*s.MS < 0 || *s.MS > 1<<53) {
		return said{}, errNoJSON
	}
	return s, nil
}

// readThere reads that an instrument has come or gone. An empty text is how a retained message is taken back.
func readThere(text []byte) (there, error) {
	var t there
	if len(text) == 0 {
		return t, nil
	}
	if err := json.Unmarshal(text, &t); err != nil {
		return there{}, errNoJSON
	}
	return t, nil
}
