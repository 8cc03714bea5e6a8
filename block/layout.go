package block

import "time"

// Yards is a length or a place along the line, in yards of 0.9144 m.
type Yards float64

// Layout is a district as its owner wrote it down: boxes in Down order and the lines between neighbours.
// ReadLayout fills every default, so that a reader of a Layout never has to know one.
type Layout struct {
	Format   int       `toml:"format"`
	Title    string    `toml:"title"`
	Book     string    `toml:"book"`             // code book of every circuit that names none: embedded name or file
	Trains   string    `toml:"trains,omitempty"` // file of the sequence, beside the layout; empty: no sequence
	Times    string    `toml:"times,omitempty"`  // file of the times; empty: order alone
	Clock    ClockKind `toml:"clock"`
	Settings Settings  `toml:"settings"`
	Boxes    []Box     `toml:"box"`
	Between  []Between `toml:"between"`
	Cards    []Card    `toml:"card,omitempty"`

	lines tomlLines // where each key stands in the file, for messages
}

// ClockKind says what time the registers are kept in.
type ClockKind struct {
	Kind   string  `toml:"kind"`             // none, real, scaled
	Starts string  `toml:"starts,omitempty"` // "15:30": layout time at which a scaled clock begins
	Speed  float64 `toml:"speed"`            // layout minutes in a real minute; bells are never sped up
}

// Settings are what a district decides for itself (absolute-block reference 9.1). Zero durations never occur
// after ReadLayout.
type Settings struct {
	Settle        Duration `toml:"settle"`        // 30s: time for needle and bell to agree
	AttentionHold Duration `toml:"attentionHold"` // 60s: how long an answered call attention is good
	LongTime      float64  `toml:"longTime"`      // 3: so many times the usual running time is unusually long
	FailGap       Duration `toml:"failGap"`       // 10m: between trains when everything failed
	TesOn         string   `toml:"tesOn"`         // passes, starts: when 2 is due
	FogRule       string   `toml:"fogRule"`       // off, double
	HalfMinutes   bool     `toml:"halfMinutes"`   // registers to the half minute
	SameRoom      bool     `toml:"sameRoom"`      // boxes hear each other's bells
	Telephone     string   `toml:"telephone"`     // two: between neighbours · circuit: every box hears every call · none
	Meanings      bool     `toml:"meanings"`      // pages say in words what a code means
	// What acts a sitting has. Where one is off and none occurs, the rules that need it are silent.
	Lamps    bool   `toml:"lamps"`    // trains are seen: passed, arrived, tail lamp
	Levers   bool   `toml:"levers"`   // section signals are worked here
	LeversAt string `toml:"leversAt"` // tablet: by levers on the box's page · layout: by the layout's own, which stay hidden there
	Cautions bool   `toml:"cautions"` // drivers are stopped and cautioned
	Collars  bool   `toml:"collars"`  // reminders are used
}

// Duration is a time span as a layout writes it: "30s", "10m".
type Duration time.Duration

// Box is a signal box.
type Box struct {
	ID        BoxID    `toml:"id"`   // [A-Z][A-Z0-9]{0,3}
	Name      string   `toml:"name"` //
	At        Yards    `toml:"at"`   // along the line from its beginning
	Worked    string   `toml:"worked"`
	Roads     int      `toml:"roads"`               // of a hidden yard or terminus; 0: a box on the running line
	Home      Yards    `toml:"home"`                // before the box, 0: at the box
	Starter   Yards    `toml:"starter"`             // beyond it
	Clearing  Yards    `toml:"clearing"`            // beyond the home signal: 440 by default
	Switch    bool     `toml:"switch,omitempty"`    // has a closing switch
	Out       bool     `toml:"out,omitempty"`       // switched out at the start
	Staffed   bool     `toml:"staffed,omitempty"`   // somebody is on duty throughout, whoever has signed the book
	ClockFast Duration `toml:"clockFast,omitempty"` // how much the box's own clock is fast; slow if below zero
	Authorise []string `toml:"authorise,omitempty"`
	Accepts   string   `toml:"accepts"` // road, clearing, beyond, starter, buffer
}

// Between is what joins two neighbours.
type Between struct {
	Boxes  []BoxID          `toml:"boxes"` // two, in Down order
	Yards  Yards            `toml:"yards"`
	MPH    float64          `toml:"mph"`
	Method string           `toml:"method"` // of lines that name none: absolute, token, permissive, …
	Level  Level            `toml:"level"`  // free, sequential, interlocked
	Book   string           `toml:"book"`
	Lines  []Line           `toml:"lines"`           // default: Down Main and Up Main
	Hears  map[BoxID]string `toml:"hears,omitempty"` // the voice each box hears from the other
	While  string           `toml:"while,omitempty"` // "MI out": this stands in for the lines past MI while it is out
}

// Line is one line between two neighbours.
type Line struct {
	Name     string        `toml:"name"`
	Way      string        `toml:"way"` // down, up, both
	Method   string        `toml:"method"`
	Capacity int           `toml:"capacity"` // permissive: trains at a time
	MPH      float64       `toml:"mph"`
	Answer   string        `toml:"answer,omitempty"` // permissive: how an offer is answered when a train is in: repeat, 2-4-1
	Tokens   map[BoxID]int `toml:"tokens,omitempty"`
	OneWay   bool          `toml:"oneWay,omitempty"`   // token working: a token goes in at the other end only, as the earliest types did
	Siding   string        `toml:"siding,omitempty"`   // token working: a siding between the two with an instrument of its own
	Staff    BoxID         `toml:"staff,omitempty"`    // staff working: where the staff is at the opening
	Interval Duration      `toml:"interval,omitempty"` // staffTicket: from one train to the next the same way
}

// Level is how much the apparatus holds (absolute-block reference 5).
type Level string

// The three apparatus levels, each holding more than the one before.
const (
	Free        Level = "free"        // bells, needles and levers apart
	Sequential  Level = "sequential"  // line clear releases the starter; the handle turns in order
	Interlocked Level = "interlocked" // one pull, proved by home signal, berth circuit and treadle
)
