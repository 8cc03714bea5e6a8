package block

// CodeBook is a list of bell signals. The book belongs to the circuit, not to the box.
type CodeBook struct {
	Name  string
	Title string
	Codes []Code // in the order of the file: train classes first, then the signals common to all books
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
	Means      string  `toml:"means"` // a short sentence for people
	Class      string  `toml:"class"` // of a train: "A", "1"; empty for other signals
	Train      bool    `toml:"train"` // an "is line clear?" signal
	Passengers bool    `toml:"passengers"`
	Freight    bool    `toml:"freight"`
	Bearing    Bearing `toml:"bearing"`
	Attention  bool    `toml:"attention"` // call attention comes first
	Answer     string  `toml:"answer"`    // "repeat", "none" or the key of another code
	Regulation string  `toml:"regulation"`
	Cite       string  `toml:"cite"`  // publication and place, as printed by `taillamp codes`
	Grade      string  `toml:"grade"` // S, M or P
}
