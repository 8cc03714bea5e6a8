package web

import "net/http"

// glossaryPage says what the words on the other pages mean.
type glossaryPage struct {
	Title string
	Words []glossaryWord
}

// glossaryWord is a word of the trade and what it means, in one sentence.
type glossaryWord struct{ Word, Says string }

// words shows the glossary.
func (s *server) words(w http.ResponseWriter, _ *http.Request) {
	s.draw(w, "words.html", glossaryPage{Title: s.title, Words: glossary()})
}

// glossary is every word of the trade that a page uses, in the order of the alphabet.
func glossary() []glossaryWord {
	return []glossaryWord{
		{"Accepted", "The box ahead has repeated the code of a train that was offered, and will take it."},
		{"Ahead", "The way the train is going; the box ahead is the next that it comes to."},
		{"Arrived", "The train has come to a stand at this box, complete."},
		{"Assisting engine", "A second engine that helps a heavy train, often by pushing behind."},
		{"Automatic brake", "A brake on the vehicles themselves that goes on by itself when the train parts."},
		{"Ballast", "The stone under the track, and the train that carries it."},
		{"Beats", "Single strokes on the bell; 3-1 is three strokes, a pause and one."},
		{"Bell", "The instrument by which two boxes talk: what one taps, the other hears."},
		{"Blocking back", "Telling the box in rear that the line near the home signal is fouled, so that it offers no train."},
		{"Brake van", "The last vehicle of a freight train, from which the guard can brake it."},
		{"Branch", "A line that leaves the main line at a junction."},
		{"Call attention", "One beat, which asks the other signaller to come to the instrument; he repeats it when he is there."},
		{"Cancelling", "Taking back an offer or an acceptance because the train will not come after all."},
		{"Closing switch", "The switch that takes a box out of the line, so that its neighbours signal to one another."},
		{"Coaching stock", "Passenger carriages and the vans that run with them."},
		{"Collar", "A ring put over a handle or a lever to remind the signaller not to move it."},
		{"Count", "How many trains are on a line that may hold several."},
		{"Departed", "The train has left this box after standing there."},
		{"Divided", "A train has come apart, and not all of it is there."},
		{"Down", "The direction away from where the line begins."},
		{"Entering section", "The train has passed the last signal of this box and is on its way to the next: two beats."},
		{"Exceptional load", "A load so wide or high that other lines may have to be kept clear of it."},
		{"Express", "A fast train that stops at few stations, or a fast freight train."},
		{"Fogsignalman", "A man who stands at a signal in fog and warns drivers of it by a small explosive on the rail."},
		{"Home signal", "The signal at which a train stops before a box, if it may not go farther."},
		{"Hot box", "A bearing of a vehicle that has run hot and smokes: the train must be stopped before it burns or breaks."},
		{"Instructor", "Who teaches a signaller, and may watch him at his box; the signaller is told so."},
		{"Junction", "A place where lines join."},
		{"Key token", "A metal key, one at a time, without which no driver may go onto its single line."},
		{"Lampman", "The man who fills and trims the lamps of the signals."},
		{"Light engine", "An engine that runs without a train."},
		{"Line blocked", "What the indicator shows when no train has been accepted: nothing may be sent."},
		{"Line clear", "What the indicator shows when one train has been accepted: one train may be sent."},
		{"Locked", "Held by the apparatus, so that it cannot be turned, pulled or drawn until something else is right."},
		{"Loop", "A line beside the main line in which a train can wait while others pass."},
		{"Magazine", "The part of a token instrument that holds the tokens."},
		{"Mineral", "Coal, ore or stone, and the wagons for it."},
		{"Mixed", "A train of passenger carriages and freight wagons together."},
		{"Obstruction danger", "Six beats: something is in the way, stop all trains at once."},
		{"Offered", "The code of a train has been rung to the box ahead, which asks whether it will take it."},
		{"On duty", "The signaller has signed the book and answers for the box."},
		{"Parcels", "A train of vans with parcels and letters, run as fast as a passenger train."},
		{"Passed", "The train has gone by this box without stopping, with its tail lamp."},
		{"Permissive line", "A line that several freight trains may be on together, each driver told of the one before."},
		{"Rail bus", "A small diesel car that carries passengers on a quiet line."},
		{"Rear", "Where the train comes from; the box in rear is the last that it passed."},
		{"Regulation", "A rule of the printed book by which trains are signalled."},
		{"Release", "The electrical leave of the other end, given by holding the last beat, to draw a token."},
		{"Right line", "The line on which trains run in that direction; the other is the wrong line."},
		{"Rule through", "To draw a line through an entry of the book, so that it can still be read, and write the right one."},
		{"Running away", "Vehicles move with nobody to stop them."},
		{"Section", "The line between two boxes, on which there is one train at a time."},
		{"Section signal", "The last signal of a box: past it a train is in the section ahead."},
		{"Sequence of trains", "The trains of the day in the order in which they are to run."},
		{"Shunt", "To move vehicles about at a station, or a train out of the way of another."},
		{"Signal box", "The house from which the signals and points of one place are worked."},
		{"Signaller", "Who works a signal box."},
		{"Signalman", "The word of the old books for a signaller."},
		{"Simulated signaller", "The program, working a box by the regulations because nobody has taken duty there."},
		{"Single", "A line with one track for both directions."},
		{"Slotted", "Of a signal: worked by two boxes, and clear only if both have pulled."},
		{"Special", "A train that is not in the sequence as booked, and runs on this day alone."},
		{"Starting signal", "The signal by which a train is let go on; here the last one of the box, its section signal."},
		{"Switched out", "Not in use: trains run past and the neighbours signal to one another."},
		{"Tail lamp", "The red lamp on the last vehicle: a train that carries it is complete."},
		{"Token", "A metal object that a driver must have before he goes onto a single line."},
		{"Train graph", "A drawing of the evening with time along it and the line across it, every train a stroke."},
		{"Train on line", "What the indicator shows while a train is in the section."},
		{"Train out of section", "The train has come through complete, and the section is free again: 2-1."},
		{"Train register", "The book in which a signaller writes every signal with its time."},
		{"Treadle", "A lever beside the rail, pressed by the wheels, which tells the instrument that a train has passed."},
		{"Trolley", "A small truck of the men who mend the track, pushed by hand."},
		{"Up", "The direction toward where the line begins."},
	}
}
