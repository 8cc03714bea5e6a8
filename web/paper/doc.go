// Package paper puts the train registers of a sitting on paper: as PDF, on A4 sheets lying crosswise, ruled as the books
// are, in the type that every reader of PDF has.
package paper
