package block

// Timetable is the sequence of trains in the order in which they leave their first box, with times or without.
type Timetable struct {
	Workings []Working
	Off      []Working // taken off by the owner in the course of the evening; they do not run

	classes map[BoxID][]Code // of a train that begins at a box, by the books of its lines
}

// Working is one train of the sequence.
type Working struct {
	Train   TrainID
	Class   string
	Code    Beats
	About   string // "3.36 stopping passenger Skelderby to Hexleigh"
	Way     string // as the owner wrote it: "Down", "Up", "Branch Up", "Down, then branch"
	From    BoxID
	To      BoxID
	MaxMPH  float64
	Start   int // seconds lost in starting
	Stop    int // seconds lost in stopping
	Freight bool
	Length  Yards
	Load    string
	StockOf TrainID // the train whose stock forms this one
	Note    string
	Calls   []PointTime // in running order; empty without times
	Change  Place       // what the owner has done with it since: Added, Retimed, Withdrawn; empty: it runs as booked

	row   int // of the trains file, for messages
	place int // of a train that was taken off: where it stood
}

// PointTime is a train at a box. Times are seconds after midnight of the layout's day; -1: none.
type PointTime struct {
	Box     BoxID
	Line    string // "Down Main": the line it comes by; empty where it starts
	Arrive  int
	Pass    int
	Depart  int
	Where   string // "platform", "bay", "into the Up Goods Loop"
	Minimum int    // least running time from the point before, seconds
	Run     int    // planned running time, seconds
	Note    string

	row int // of the times file, for messages
}
