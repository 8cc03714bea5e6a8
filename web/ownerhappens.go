package web

import (
	"fmt"

	"taillamp/block"
)

// happeningNames are what the kinds of happening are called.
var happeningNames = map[block.Place]string{
	block.HotBox: "Hot box", block.Divided: "Divided train", block.FailedEngine: "Engine failure", block.TokenFails: "Token failure",
	block.FogFalls: "Fog", block.RunsLate: "Late running", block.Special: "Special train", block.LampLost: "Missing tail lamp",
	block.WrongClass: "Train wrongly described", block.OutEarly: "Train out of section too early",
	block.OutInBlock: "Train out of section while blocked back", block.NeedleSticks: "A needle that sticks",
}

// happensWords tell of something that the owner has ordered.
func (s *server) happensWords(e block.Event) string {
	h, _ := block.HappeningOf(e)
	words := happeningNames[h.Does]
	if h.Train != "" {
		words += fmt.Sprintf(", train %s", h.Train)
	}
	if h.At != "" {
		words += ", " + namesOf(s.live.Rules())[h.At]
	}
	if h.Minutes > 0 {
		words += fmt.Sprintf(", %d minutes", h.Minutes)
	}
	if e.Off {
		return words + ": no more"
	}
	return words + ": the line does it"
}
