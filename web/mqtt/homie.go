package mqtt

import (
	"fmt"
	"strings"

	"taillamp/block"
)

// The Homie convention, version 4.0, from memory: a device, its nodes and their properties are described by retained
// plain texts, so that home automation of any make finds them by itself. Nothing here can be set: an act has a hand.

// homie is a topic of the program's device.
func (w *Wires) homie(words ...string) string {
	return "homie/" + w.prefix + "/" + strings.Join(words, "/")
}

// sayHomie describes everything, and says last that all is ready.
func (w *Wires) sayHomie() {
	say := func(text string, words ...string) { w.sayPlain(w.homie(words...), true, text) }
	say("init", "$state")
	say("4.0", "$homie")
	say(w.live.Rules().Layout().Title, "$name")
	var nodes []string
	for _, b := range w.boxes {
		node := slug(string(b.ID))
		nodes = append(nodes, node)
		say(b.Name, node, "$name")
		say("signal box", node, "$type")
		var has []string
		describe := func(property, name, kind, format string, retained bool) {
			has = append(has, property)
			say(name, node, property, "$name")
			say(kind, node, property, "$datatype")
			if format != "" {
				say(format, node, property, "$format")
			}
			say(fmt.Sprint(retained), node, property, "$retained")
		}
		for _, p := range w.live.Rules().Circuits() {
			if p.Boxes[0] != b.ID && p.Boxes[1] != b.ID {
				continue
			}
			far := p.Boxes[0]
			if far == b.ID {
				far = p.Boxes[1]
			}
			if at := "bell-" + slug(string(far)); !strings.Contains(strings.Join(has, ",")+",", at+",") {
				describe(at, "Bell from "+string(far), "boolean", "", false)
			}
			for _, s := range p.Sections {
				describe(slug(string(s.ID)), string(s.ID), "enum", homieFormat(s.Method), true)
			}
		}
		say(strings.Join(has, ","), node, "$properties")
	}
	say(strings.Join(nodes, ","), "$nodes")
	say("ready", "$state")
}

func homieFormat(method string) string {
	if block.WithTokens(method) {
		return "in,going,coming,out"
	}
	return "blocked,clear,occupied"
}

// homieWord is what an indicator shows.
func homieWord(l block.LineView) string {
	if l.Token != nil {
		return string(l.Token.Shows)
	}
	return string(l.Shows)
}
