// Package block knows how two signal boxes speak to one another: which bell codes there are, what the
// block instruments allow, and what the regulations forbid although the instruments allow it.
//
// It is a function of its arguments. The same State and Event always give the same State and Outcome, on
// every machine; whatever needs the time of day, a disk or a network lives elsewhere.
//
// # Three endings
//
// An act ends in one of three ways. It cannot be: Step returns an error and nothing is to be recorded. The
// apparatus stopped it: Refused, recorded, nothing moved. Or it happened: Done, and if the regulations forbid
// it, Done with one or more irregularities. A bell that works is never refused, and an irregularity is never
// turned into a refusal: that the apparatus allows a wrong act is what there is to learn.
//
// # Two times
//
// Pressed is when the finger came down and keeps the rhythm; At is when the sitting took the act and keeps the
// order. A bell signal has the time of its first beat, and every limit of the regulations runs from there.
//
// # Four things that are never mixed
//
// What was signalled (bells and handles), what is true (trains and obstructions, as they were sighted), what a
// box could know of it, and what the apparatus holds. An irregularity is judged on what the acting box could know.
package block
