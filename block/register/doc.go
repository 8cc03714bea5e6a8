// Package register reads the record of a sitting: as bytes, as a state, as the train register of each box and as a
// train graph.
//
// The train register is a fold over the record and over nothing else. Recorded outcomes are believed: what was shown
// that evening stays shown, whatever the rules have become since.
package register
