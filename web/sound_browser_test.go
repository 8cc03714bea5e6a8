package web_test

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/sounds/soundtest"
)

// B1, B7: a code rung at Ullathwick, put together at Ossenwaite by the browser's own audio from the sound that it was
// served and the moments at which it let it sound, is counted right by an ear that knows only the samples.
func TestReceivedCodesCanBeCounted(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	pause(time.Second) // eight clock exchanges, 100 ms apart
	const beat = 220 * time.Millisecond
	for _, code := range []string{"3-1", "1-3-1", "2-1"} {
		beats, err := block.ParseBeats(code)
		require.NoError(t, err)
		eval[int](os, "window.taillampPlayed.length = 0")
		ul.hand(pair, code, beat)
		os.until(fmt.Sprintf("window.taillampPlayed.length >= %d", beats.Total()))
		samples, rate := rendered(os)
		require.Greater(t, len(samples), rate/2)
		found := soundtest.Onsets(samples, rate)
		require.Len(t, found, beats.Total(), "%s", code)

		var played []time.Duration
		for _, s := range eval[[]stroke](os, "window.taillampPlayed") {
			played = append(played, time.Duration(s.When*float64(time.Second)))
		}
		for i := 1; i < len(found); i++ {
			require.InDelta(t, (played[i] - played[0]).Seconds(), (found[i] - found[0]).Seconds(), 0.006, "%s, beat %d", code, i+1)
		}
		pause(1600 * time.Millisecond) // the chain of strokes ends
	}
}

// rendered is what a tablet's bell has sounded, each beat at its own force, by an OfflineAudioContext from the address
// that the shelf has for it and through the page's own mix.
func rendered(p *tab) (samples []float32, rate int) {
	p.t.Helper()
	eval[int](p, fmt.Sprintf(`(() => {
		window.heardHere = null;
		const played = window.taillampPlayed.slice();
		const rate = %d, first = played[0].when, long = played[played.length - 1].when - first + 1.5;
		const paper = new OfflineAudioContext(1, Math.ceil(long * rate), rate);
		const sound = fetch(taillampShelf.bells.sounds.bells[%s]).then((r) => r.arrayBuffer()).then((b) => paper.decodeAudioData(b));
		Promise.all([import("/static/strike.mjs"), sound]).then(([{ mix, strike }, buffer]) => {
			const into = mix(paper).into;
			for (const beat of played) strike(paper, into, buffer, 0.1 + beat.when - first, beat.hard, 1);
			return paper.startRendering();
		}).then((sound) => {
			const bytes = new Uint8Array(sound.getChannelData(0).buffer);
			let text = "";
			for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
			window.heardHere = btoa(text);
		});
		return 0;
	})()`, sounds.Rate, quote(pair)))
	return p.samples("window.heardHere"), sounds.Rate
}

// samples waits for a Float32Array that the page has written as base64.
func (p *tab) samples(from string) []float32 {
	p.t.Helper()
	p.until(from)
	raw, err := base64.StdEncoding.DecodeString(eval[string](p, from))
	require.NoError(p.t, err)
	samples := make([]float32, len(raw)/4)
	for i := range samples {
		samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:]))
	}
	return samples
}

// All sounds of a box's page are 400 kB or less, at the demo's largest shelf too: four neighbours.
func TestSoundsOfAPageAreLight(t *testing.T) {
	b := browser(t)
	e := open(t, "lathermoor", fourNeighbours)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	p.until("Object.values(taillampShelf.bells.buffers).length >= 5 && Object.values(taillampShelf.bells.buffers).every((b) => b.ready)")
	type file struct {
		Name  string  `json:"name"`
		Bytes float64 `json:"bytes"`
	}
	total := 0.0
	for _, f := range eval[[]file](p, `performance.getEntriesByType("resource").filter((r) => r.name.indexOf("/sounds/") >= 0)
		.map((r) => ({name: new URL(r.name).pathname, bytes: r.encodedBodySize}))`) {
		fmt.Printf("%-30s %6.0f bytes\n", f.Name, f.Bytes)
		require.Greater(t, f.Bytes, 1000.0)
		total += f.Bytes
	}
	fmt.Printf("all sounds of the page: %.0f bytes\n", total)
	require.LessOrEqual(t, total, 400_000.0)
}
