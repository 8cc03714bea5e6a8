package mqtt

import (
	"context"

	paho "github.com/eclipse/paho.mqtt.golang"

	"taillamp/block"
)

// LooseWires are wires without a broker, for the fuzzer: what comes is done at once.
type LooseWires struct {
	w *Wires
	k *worker
}

// Loose makes them.
func Loose(c Config) *LooseWires {
	w := &Wires{live: c.Live, prefix: "taillamp", boxes: c.Live.Rules().Layout().Boxes, counts: c.Counts, words: c.Words, held: c.Held,
		came: make(chan message, waiting), voices: make(map[block.BoxID]*voice)}
	w.gates = newGates(w.boxes)
	w.client = paho.NewClient(paho.NewClientOptions())
	return &LooseWires{w, newWorker(w)}
}

// Take does what a message under a topic asks.
func (l *LooseWires) Take(topic string, text []byte) {
	l.w.take(l.w.client, letter{topic: topic, text: text})
	l.k.message(context.Background(), <-l.w.came)
	l.k.look(context.Background())
}

// letter is a message that no broker brought.
type letter struct {
	paho.Message
	topic string
	text  []byte
}

func (l letter) Topic() string   { return l.topic }
func (l letter) Payload() []byte { return l.text }
func (l letter) Retained() bool  { return false }
