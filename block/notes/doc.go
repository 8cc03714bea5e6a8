// Package notes reads and plays the plain text form of what happened: one line a fact, as a signaller would put it
// down. It is the form of worked cases, lessons, questions and bug reports, and it only ever gains words.
//
//	# The ordinary cycle, begun.
//	boxes UL OS QU
//	10:00:00  UL rings OS 1
//	10:00:02  OS rings UL 1
//	10:00:05  UL rings OS 4
//	10:00:08  OS rings UL 4
//	10:00:10  OS turns UL clear
package notes
