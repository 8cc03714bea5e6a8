package block_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// D15: cards stand in the layout file; each fault of one is named with its field. The demo has the six of its scenario
// and a special train.
func TestCardsOfALayout(t *testing.T) {
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	l, err := block.ReadLayout([]byte(h.Layout))
	require.NoError(t, err)
	var names, does []string
	for _, c := range l.Cards {
		names = append(names, c.Name)
		h, is := c.Happening(c.To)
		require.True(t, is, c.Name)
		got, ok := block.HappeningOf(h.Event())
		require.True(t, ok, c.Name)
		require.Equal(t, h, got, "as it stands in the record")
		does = append(does, string(c.Does))
	}
	require.Equal(t, []string{"late", "hot-box", "divided", "token-failure", "failed-engine", "fog", "special"}, does)
	require.Equal(t, []string{"Late running", "Hot box", "Divided train", "Token failure", "Engine failure", "Fog", "Special train"}, names)

	for card, want := range map[string]string{
		`says = "x"`: "card[0].name",
		`name = "x"`: "card[0].says",
		"name = \"x\"\nsays = \"y\"\nto = [\"XX\"]":                         "card[0].to[0]",
		`name = "` + strings.Repeat("x", 41) + `"`:                          "card[0].name",
		"name = \"x\"\nsays = \"" + strings.Repeat("y", 241) + `"`:          "card[0].says",
		"name = \"x\"\nsays = \"y\"\ndoes = \"hotbox\"":                     "did you mean hot-box",
		"name = \"x\"\nsays = \"y\"\nat = \"UL\"":                           "card[0].at",
		"name = \"x\"\nsays = \"y\"\ndoes = \"late\"\nat = \"XX\"":          "card[0].at",
		"name = \"x\"\nsays = \"y\"\ndoes = \"fog\"\nminutes = 241":         "card[0].minutes",
		"name = \"x\"\nsays = \"y\"\ndoes = \"token-failure\"\nat = \"UL\"": "worked by token",
		"name = \"x\"\nsays = \"y\"\n[[card]]\nname = \"x\"\nsays = \"z\"":  "card[1].name",
	} {
		h, err := block.EmbeddedHeader("tiny")
		require.NoError(t, err)
		_, err = block.ReadLayout([]byte(h.Layout + "\n[[card]]\n" + card + "\n"))
		require.ErrorContains(t, err, want, card)
	}
}
