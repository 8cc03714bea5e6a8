package sounds_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

// svgText is every text of an image, which must be well-formed XML.
func svgText(t *testing.T, image []byte) []string {
	t.Helper()
	var all []string
	for d := xml.NewDecoder(bytes.NewReader(image)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		if text, ok := token.(xml.CharData); ok && strings.TrimSpace(string(text)) != "" {
			all = append(all, string(text))
		}
	}
}

func TestADrawingNamesItsVoicesAndTheirCrests(t *testing.T) {
	var image bytes.Buffer
	require.NoError(t, sounds.WriteDrawing(&image, sounds.Voices()...))
	texts := svgText(t, image.Bytes())
	for _, v := range sounds.Voices() {
		require.Contains(t, texts, v.Name)
		for _, p := range v.Strongest(3) {
			require.Contains(t, texts, fmt.Sprintf("%.0f", v.Base*p.Ratio), v.Name)
		}
	}
}

// The traces are of the sound: the spectrum of a voice of one pitch is highest at that pitch, and the envelope falls
// in a straight line by 60 dB in its T60.
func TestADrawingShowsTheSound(t *testing.T) {
	v, err := sounds.ReadVoice([]byte(strings.Replace(goodVoice, `name = "pan"`, `name = "<pan>"`, 1)))
	require.NoError(t, err)
	var image bytes.Buffer
	require.NoError(t, sounds.WriteDrawing(&image, v))
	require.Contains(t, svgText(t, image.Bytes()), "<pan>", "a name is text, whatever it holds")

	envelope, spectrum := traces(t, image.String())
	top := 0
	for i, y := range spectrum {
		if y < spectrum[top] {
			top = i
		}
	}
	hz := 200 * math.Pow(50, float64(top)/float64(len(spectrum)))
	require.InEpsilon(t, 500, hz, 0.015)
	second := float64(len(envelope)) / 1.2                               // units of a second across
	at := func(s float64) float64 { return envelope[int(s*second)] / 2 } // dB below the highest: 120 units are 60 dB
	require.InDelta(t, 60*0.2/0.5, at(0.3)-at(0.1), 1)
}

// traces are the heights of the two curves, unit by unit.
func traces(t *testing.T, image string) (envelope, spectrum []float64) {
	t.Helper()
	var all [][]float64
	for _, part := range strings.Split(image, `stroke-linejoin="round" d="`)[1:] {
		path, _, _ := strings.Cut(part, `"`)
		var curve []float64
		for _, point := range strings.FieldsFunc(path, func(r rune) bool { return r == 'M' || r == 'L' }) {
			var x int
			var y float64
			_, err := fmt.Sscanf(point, "%d %f", &x, &y)
			require.NoError(t, err)
			require.Equal(t, len(curve), x)
			curve = append(curve, y)
		}
		all = append(all, curve)
	}
	require.Len(t, all, 2)
	return all[0], all[1]
}

func TestADrawingTellsWhenItCannotBeWritten(t *testing.T) {
	require.ErrorIs(t, sounds.WriteDrawing(full{}, sounds.Voices()[0]), errFull)
}
