// Package lesson holds the ladder of lessons: what each teaches, the line and the trains it is worked with, what the
// learner does and what an old hand beside him does, and how it is known that the learner can do it. A lesson is an
// ordinary sitting with simulated neighbours; its judge reads the record and nothing else.
package lesson
