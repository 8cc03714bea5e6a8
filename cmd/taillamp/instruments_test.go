package main

import (
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/require"
)

// K2: one flag brings a broker along, and anything that speaks MQTT finds the program there.
func TestServeBringsABrokerAlong(t *testing.T) {
	s := start(t, "--dir", t.TempDir(), "--layout", "tiny", "--instruments", "127.0.0.1:0")
	defer s.end()
	came := make(chan string, 16)
	c := paho.NewClient(paho.NewClientOptions().AddBroker(s.find(`bells +(tcp://127\.0\.0\.1:\d+), a broker`)).SetClientID("bell"))
	token := c.Connect()
	require.True(t, token.WaitTimeout(20*time.Second))
	require.NoError(t, token.Error())
	defer c.Disconnect(0)
	c.Subscribe("homie/taillamp/$state", 1, func(_ paho.Client, m paho.Message) { came <- string(m.Payload()) })
	for {
		select {
		case state := <-came:
			if state == "ready" {
				return
			}
		case <-time.After(20 * time.Second):
			t.Fatal("the program does not say that it is there")
		}
	}
}
