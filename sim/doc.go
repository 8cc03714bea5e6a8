// Package sim works boxes that nobody works, and runs trains that nobody drives: a signaller who goes by the same rules
// through the same machine as a person, and trains that take the time real ones would.
//
// It is a function of its arguments: the same rules, options and seed give the same day, act by act, on every machine.
package sim
