package sounds_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

func TestEightVoicesOfFiveBodiesOrMore(t *testing.T) {
	names, bodies := map[string]bool{}, map[string]bool{}
	for _, v := range sounds.Voices() {
		names[v.Name], bodies[v.Body] = true, true
		require.NotEmpty(t, v.Says, v.Name)
		require.NotEmpty(t, v.Source, "%s: where the ratios come from", v.Name)
		require.Contains(t, []string{"S", "C", "M", "P"}, v.Grade, v.Name)
		if v.Grade == "M" {
			require.Contains(t, v.Source, "from memory", v.Name)
		}
	}
	require.GreaterOrEqual(t, len(names), 8)
	require.GreaterOrEqual(t, len(bodies), 5)
	for _, name := range []string{"dome", "tube", "coil", "cow"} {
		require.True(t, names[name], name)
	}
}

func TestVoicesAreFoundByName(t *testing.T) {
	for _, v := range everyVoice(t) {
		found, ok := sounds.FindVoice(v.Name)
		require.True(t, ok, v.Name)
		require.Equal(t, v, found)
	}
	for _, name := range []string{"", "Dome", "gong", "../voices/dome", "dome.toml", "dome+5", "dome+", "+4", "dome+4+4", "dome+6", "dome-", "clack"} {
		_, ok := sounds.FindVoice(name)
		require.False(t, ok, name)
	}
}

const goodVoice = `
name = "pan"
body = "pan"
says = "a frying pan"
base = 500
heard = 500
source = "by ear"
grade = "P"
strike = { gain = 0.5, centre = 3000 }
partial = [{ ratio = 1.0, gain = 1.0, t60 = 0.5 }]
`

func TestReadVoiceRefusesWhatIsNoVoice(t *testing.T) {
	v, err := sounds.ReadVoice([]byte(goodVoice))
	require.NoError(t, err)
	require.InDelta(t, -24.5, sounds.Loudness(v.Stroke(sounds.Rate, 1)), 0.1)

	for _, c := range []struct{ is, becomes, says string }{
		{`name = "pan"`, ``, "needs a name"},
		{`body = "pan"`, ``, "a body"},
		{`partial = [{ ratio = 1.0, gain = 1.0, t60 = 0.5 }]`, ``, "at least one partial"},
		{`heard = 500`, `heard = 50`, "100 to 4000 can be heard well"},
		{`heard = 500`, `heard = nan`, "100 to 4000 can be heard well"},
		{`base = 500`, `base = 30000`, "20 to 20000 can be heard"},
		{`gain = 1.0`, `gain = 0.0`, "a gain over 0"},
		{`gain = 1.0`, `gain = 1.1`, "a gain over 0"},
		{`t60 = 0.5`, `t60 = 0.01`, "a t60 of 0.05 to 3"},
		{`t60 = 0.5`, `t60 = inf`, "a t60 of 0.05 to 3"},
		{`gain = 0.5, centre`, `gain = -1, centre`, "a gain of 0 to 2"},
		{`centre = 3000`, `centre = 30000`, "a centre of 100 to 12000"},
		{`grade =`, `greade =`, ""},
		{`base = 500`, `base = `, ""},
	} {
		text := strings.Replace(goodVoice, c.is, c.becomes, 1)
		require.NotEqual(t, goodVoice, text, c.is)
		_, err := sounds.ReadVoice([]byte(text))
		require.ErrorIs(t, err, sounds.ErrNotVoice, "%q for %q", c.becomes, c.is)
		require.ErrorContains(t, err, c.says)
	}
}

// Whatever text comes, ReadVoice refuses it or gives a voice that keeps within the limits.
func FuzzReadVoice(f *testing.F) {
	f.Add([]byte(goodVoice))
	f.Add([]byte(strings.ReplaceAll(goodVoice, "1.0", "0.0001")))
	f.Add([]byte("name = 1"))
	f.Fuzz(func(t *testing.T, text []byte) {
		v, err := sounds.ReadVoice(text)
		if err != nil {
			require.ErrorIs(t, err, sounds.ErrNotVoice)
			return
		}
		s := v.Stroke(sounds.Rate, 1)
		if top := highestSample(s); !(dB(top) <= -6) {
			t.Fatalf("a peak of %g", top)
		}
		require.LessOrEqual(t, v.Long().Seconds(), 2.5)
	})
}
