// Package review reads a sitting afterwards and says what was irregular in it, with the evidence.
//
// It is one pass over the record. What an act proves of itself was recorded when it happened; here stand the checks
// that need time, a later act, or the other box's book. A signaller is judged by his own bells and his own window,
// never by what another box knew; silence is no error; slowness is told and not accused; and what needs a kind of act
// that the sitting never had is left alone.
package review
