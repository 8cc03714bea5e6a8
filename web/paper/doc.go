// Package paper puts on paper what a railway's printing office and its signallers would: the train registers of a sitting,
// on A4 sheets lying crosswise, ruled as the books are, and what hangs in a box. It is PDF, in the type that every reader
// of PDF has, and loses nothing on a printer that has black alone.
package paper
