package sitting

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	jsonv2 "github.com/go-json-experiment/json"

	"taillamp/block"
	"taillamp/block/register"
)

// Protocol is the number of the wire's form. A tablet of another number must load its page anew.
const Protocol = 1

// FrameLimit is the longest frame, in bytes, that a tablet may send.
const FrameLimit = 4 << 10

// The kinds of frame.
const (
	KindHello   = "hello"
	KindWelcome = "welcome"
	KindPresent = "present"
	KindSync    = "sync"
	KindAct     = "act"
	KindAnswer  = "answer"
	KindRing    = "ring"
	KindNews    = "news"
	KindClock   = "clock"
	KindAlive   = "alive"
	KindShows   = "shows"
	KindClose   = "close"
)

// Impossible is the ending of an act that cannot be and was not recorded.
const Impossible block.Ending = "impossible"

// Millis is a moment on the wire: milliseconds since 1970, with fractions, in the server's clock.
type Millis float64

// MillisOf is a moment as the wire has it. The zero time is 0.
func MillisOf(t time.Time) Millis {
	if t.IsZero() {
		return 0
	}
	return Millis(float64(t.UnixMicro()) / 1000)
}

// Time is the moment, to the microsecond. 0 is the zero time.
func (m Millis) Time() time.Time {
	if m == 0 {
		return time.Time{}
	}
	return time.UnixMicro(int64(math.Round(float64(m) * 1000)))
}

// latest is the greatest number that the wire may carry: beyond it a script's numbers are no longer whole.
const latest = 1 << 53

// FromTablet is any frame that a tablet sends. Members that a kind does not use are left alone.
type FromTablet struct {
	Kind string `json:"kind"`

	// hello and sync
	Proto   int         `json:"proto"`
	Sitting string      `json:"sitting"`
	Box     block.BoxID `json:"box"`
	As      As          `json:"as"`
	Ticket  string      `json:"ticket"`
	Have    Position    `json:"have"`

	// act
	Act     uint64          `json:"act"`
	Pressed Millis          `json:"pressed"`
	Do      block.Do        `json:"do"`
	Circuit block.CircuitID `json:"circuit"`
	Section block.SectionID `json:"section"`
	Off     bool            `json:"off"`
	Show    block.Aspect    `json:"show"`
	Train   block.TrainID   `json:"train"`
	Where   block.Place     `json:"where"`
	Lamp    block.Lamp      `json:"lamp"`
	Line    uint64          `json:"line"`
	Words   string          `json:"words"`

	// shows
	Shows Shows `json:"shows"`

	// clock
	T0 float64 `json:"t0"`
}

// The faults that a frame may have.
var (
	ErrTooLong = errors.New("sitting: the frame is too long")
	ErrNoFrame = errors.New("sitting: not a frame of this wire")
)

// Decode reads a frame from a tablet.
func Decode(text []byte) (FromTablet, error) {
	var f FromTablet
	if len(text) > FrameLimit {
		return f, fmt.Errorf("%w: %d bytes", ErrTooLong, len(text))
	}
	// Twice as fast as encoding/json, and every beat comes through here.
	if err := jsonv2.Unmarshal(text, &f); err != nil {
		return FromTablet{}, fmt.Errorf("%w: %w", ErrNoFrame, err)
	}
	if f.Kind == "" || f.Pressed < 0 || f.Pressed > latest || f.Act > latest || f.Line > latest || f.Have.Seq > latest {
		return FromTablet{}, ErrNoFrame
	}
	return f, nil
}

// mostWords is the longest remark, in bytes.
const mostWords = 500

// Event is what an act frame asks for. ErrNoAct: a tablet has no such act. Whole codes come from notes and simulated
// signallers only, faults and the pace of the evening from the owner.
func (f FromTablet) Event() (block.Event, error) {
	switch f.Do {
	case block.Beat, block.Hold, block.Turn, block.Lever, block.Collar, block.Release, block.Train, block.Told,
		block.Driver, block.Foul, block.Switch, block.Duty, block.Ears, block.Call, block.Remark, block.Slip,
		block.Token, block.Clock, block.Pilot, block.Engineers:
	default:
		return block.Event{}, fmt.Errorf("%w: %q", ErrNoAct, f.Do)
	}
	if f.Act == 0 || len(f.Words) > mostWords || f.Do == block.Duty && !f.Off {
		return block.Event{}, ErrNoAct
	}
	return block.Event{Do: f.Do, Pressed: f.Pressed.Time(), Circuit: f.Circuit, Section: f.Section, Off: f.Off,
		Show: f.Show, Train: f.Train, Where: f.Where, Lamp: f.Lamp, Line: f.Line, Words: f.Words}, nil
}

// Welcome is the present: as welcome it answers a hello, as present a sync.
type Welcome struct {
	Kind     string              `json:"kind"`
	Proto    int                 `json:"proto"`
	Program  string              `json:"program"`
	Epoch    string              `json:"epoch"`
	Seq      uint64              `json:"seq"`
	Acted    uint64              `json:"acted"`
	Now      Millis              `json:"now"`
	Alive    int                 `json:"alive"` // milliseconds between signs of life
	Delay    int                 `json:"delay"` // milliseconds that a bell sounds after the press, to begin with
	View     *block.View         `json:"view,omitempty"`
	Book     []register.Line     `json:"book,omitempty"`
	Notice   []register.Expected `json:"notice,omitempty"`
	Door     []Staffing          `json:"door,omitempty"`
	Clock    DistrictTime        `json:"clock"`
	Settings Settings            `json:"settings"`
	Fitted   []Instrument        `json:"fitted,omitempty"` // the real instruments of the box
	Phones   []Telephone         `json:"phones,omitempty"`
	Asks     *Asking             `json:"asks,omitempty"`
	Words    *Words              `json:"told,omitempty"`
	Watched  *Onlookers          `json:"watched,omitempty"` // who looks on at the box, for its signaller
	Shows    *Shows              `json:"shows,omitempty"`   // for whoever instructs there
	Away     []block.BoxID       `json:"away,omitempty"`    // neighbours whose tablets are off the wire
	Missed   string              `json:"missed,omitempty"`  // what rang meanwhile, in words
	Trouble  string              `json:"trouble,omitempty"` // why nothing can be recorded, in words
}

// Settings are those of the layout that a page must know.
type Settings struct {
	HalfMinutes bool   `json:"halfMinutes"`
	SameRoom    bool   `json:"sameRoom"`
	Meanings    bool   `json:"meanings"`
	Telephone   string `json:"telephone"` // two, circuit, none
	Lamps       bool   `json:"lamps"`
	Levers      bool   `json:"levers"`
	Cautions    bool   `json:"cautions"`
	Collars     bool   `json:"collars"`
}

// SettingsOf picks them out of the layout's.
func SettingsOf(s block.Settings) Settings {
	return Settings{HalfMinutes: s.HalfMinutes, SameRoom: s.SameRoom, Meanings: s.Meanings, Telephone: s.Telephone, Lamps: s.Lamps,
		Levers: s.Levers, Cautions: s.Cautions, Collars: s.Collars}
}

// Answered tells a tablet what came of its act.
type Answered struct {
	Kind   string       `json:"kind"`
	Act    uint64       `json:"act"`
	Seq    uint64       `json:"seq,omitempty"` // only where it was recorded
	Ending block.Ending `json:"ending"`
	Why    string       `json:"why,omitempty"`
	Words  string       `json:"words,omitempty"`
}

// Rung is one beat for a box to sound; for the others its number alone. It is sent before the beat is on the disk. If
// the beat ended a code, news of the same number follow. One that is early rings before its turn, because something
// before it still waits for the disk: its number must not be taken for a gap, and comes once more in its turn.
type Rung struct {
	Kind    string          `json:"kind"`
	Epoch   string          `json:"epoch"`
	Seq     uint64          `json:"seq"`
	Circuit block.CircuitID `json:"circuit,omitempty"`
	Voice   string          `json:"voice,omitempty"`
	Sent    block.CircuitID `json:"sent,omitempty"` // for one who watches: a key of the box itself was pressed
	Early   bool            `json:"early,omitempty"`
	Pressed Millis          `json:"pressed,omitempty"`
}

// Told is what came of one recorded fact, as far as the box may know it; if nothing of it, its number alone.
type Told struct {
	Kind    string              `json:"kind"`
	Epoch   string              `json:"epoch"`
	Seq     uint64              `json:"seq"`
	At      Millis              `json:"at"`
	Changes []block.Change      `json:"changes,omitempty"`
	Lines   []register.Line     `json:"lines,omitempty"`
	View    *block.View         `json:"view,omitempty"`
	Notice  []register.Expected `json:"notice,omitempty"`
	Door    []Staffing          `json:"door,omitempty"`
	Fitted  []Instrument        `json:"fitted,omitempty"`
	Phones  []Telephone         `json:"phones,omitempty"`
	Asks    *Asking             `json:"asks,omitempty"`
	Words   *Words              `json:"told,omitempty"`
	Clock   *DistrictTime       `json:"clock,omitempty"` // as it goes on from At, after a pause or at another speed
	Away    *Absent             `json:"away,omitempty"`
	Watched *Onlookers          `json:"watched,omitempty"` // who looks on at the box, or that nobody does any more
	Shows   *Shows              `json:"shows,omitempty"`
}

// Clocks answers a clock frame: the tablet's own time as it was sent, when that came, and when this goes.
type Clocks struct {
	Kind string  `json:"kind"`
	T0   float64 `json:"t0"`
	T1   Millis  `json:"t1"`
	T2   Millis  `json:"t2"`
}

// SignOfLife is sent when there was nothing else to send.
type SignOfLife struct {
	Kind string `json:"kind"`
	Seq  uint64 `json:"seq"`
}

// Closing is the last frame.
type Closing struct {
	Kind  string `json:"kind"`
	Why   string `json:"why"`
	Again bool   `json:"again"` // whether to come back
}

// Encode writes a frame of the server's.
func Encode(frame any) ([]byte, error) {
	text, err := json.Marshal(frame)
	if err != nil {
		return nil, fmt.Errorf("encode %T: %w", frame, err)
	}
	return text, nil
}
