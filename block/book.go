package block

// CodeBook is a list of bell signals. The book belongs to the circuit, not to the box.
type CodeBook struct {
	Name    string
	Title   string
	Codes   []Code   // in the order of the file: train classes first, then the signals common to all books
	Sources []Source // of the book's own, beside those that the program knows

	byBeats map[string][]int // places in Codes
	byKey   map[CodeKey]int
}

// Source is a publication that codes and rules cite by its key.
type Source struct {
	Key         string `toml:"key" json:"key"`
	Publication string `toml:"publication" json:"publication"`
	Read        string `toml:"read" json:"read,omitempty"`       // how much of it was read
	Quality     string `toml:"quality" json:"quality,omitempty"` // A the regulation itself or an official report, B a careful account, C a list or memory
}

// Bearing says which way along the line a code may be sent.
type Bearing string

// Bearings, seen from the sender.
const (
	ToAdvance Bearing = "forward" // to the box in advance
	ToRear    Bearing = "back"    // to the box in rear
	EitherWay Bearing = "both"
)

// Code is one line of a code book.
type Code struct {
	Key        CodeKey `toml:"key"`
	Beats      Beats   `toml:"beats"`
	Means      string  `toml:"means"`      // a short sentence for people
	Class      string  `toml:"class"`      // of a train: "A", "1"; empty for other signals
	Train      bool    `toml:"train"`      // an "is line clear?" signal
	Passengers bool    `toml:"passengers"` // carries passengers
	Coaching   bool    `toml:"coaching"`   // coaching stock, which counts as a passenger train on permissive lines
	Freight    bool    `toml:"freight"`
	Bearing    Bearing `toml:"bearing"`
	Attention  bool    `toml:"attention"`  // call attention comes first
	Answer     string  `toml:"answer"`     // "repeat", "none" or the key of another code
	Conditions string  `toml:"conditions"` // what must be done before it is answered, of a local code
	Regulation string  `toml:"regulation"`
	Cite       string  `toml:"cite"`  // keys of publications, as printed by `taillamp codes`
	Grade      string  `toml:"grade"` // S, M or P
}

// Find returns what the beats may mean when sent that way, in the order of the book; none if they mean nothing.
// One pattern may mean several things: 2-1 is train out of section and obstruction removed.
func (c *CodeBook) Find(b Beats, where Bearing) []Code {
	var found []Code
	for _, i := range c.byBeats[string(b)] {
		if code := c.Codes[i]; where == EitherWay || code.Bearing == EitherWay || code.Bearing == where {
			found = append(found, code)
		}
	}
	return found
}

// Key returns the code of that key.
func (c *CodeBook) Key(k CodeKey) (Code, bool) {
	i, ok := c.byKey[k]
	if !ok {
		return Code{}, false
	}
	return c.Codes[i], true
}

// index makes codes quick to find; it is done once, when a book is read.
func (c *CodeBook) index() {
	c.byBeats = make(map[string][]int, len(c.Codes))
	c.byKey = make(map[CodeKey]int, len(c.Codes))
	for i, code := range c.Codes {
		c.byBeats[string(code.Beats)] = append(c.byBeats[string(code.Beats)], i)
		c.byKey[code.Key] = i
	}
}
