package web_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
)

// The page reckons the force of a beat to the last bit as the program does.
func TestForceIsTheProgramsOwn(t *testing.T) {
	e := open(t, "lathermoor", nil)
	p := tablet(t, browser(t), "the door", e.at, 1024, 768)
	eval[int](p, `(() => { import("/static/strike.mjs").then(({ force }) => {
		window.forces = [];
		for (let i = 0; i < 400; i++) window.forces.push(force(i), force(Math.imul(i, 0x9e3779b1) >>> 0));
	}); return 0; })()`)
	p.until("window.forces")
	got := eval[[]float64](p, "window.forces")
	require.Len(t, got, 800)
	for i := range uint32(400) {
		require.Equal(t, sounds.Force(i), got[2*i], "beat %d", i)
		require.Equal(t, sounds.Force(i*0x9e3779b1), got[2*i+1], "beat %d", i*0x9e3779b1)
	}
}

// Every beat heard has a force of its own, no two alike, and it is that of its number in the record.
func TestNoTwoBeatsAreAlikeHere(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	eval[int](os, "window.taillampPlayed.length = 0")
	ul.ring(os, pair, "3-1")
	ul.ring(os, pair, "1-3-1")
	type beat struct {
		Hard float64 `json:"hard"`
	}
	var want []float64
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		if entry.Event.Do == block.Beat {
			want = append(want, sounds.Force(uint32(entry.Seq)))
		}
	}
	var got []float64
	seen := map[float64]bool{}
	for _, b := range eval[[]beat](os, "window.taillampPlayed") {
		require.False(t, seen[b.Hard], "two beats of force %v", b.Hard)
		seen[b.Hard] = true
		got = append(got, b.Hard)
	}
	require.Len(t, got, 9)
	require.Equal(t, want, got)
}

// A soft beat in the browser is that of the synthesiser: of each strong partial well under or over 1.5 kHz it leaves
// as much, within half a decibel, by the sum over the samples against a turning pointer.
func TestSoftBeatIsTheSynthesisersOwn(t *testing.T) {
	e := open(t, "lathermoor", nil)
	p := tablet(t, browser(t), "the door", e.at, 1024, 768)
	const hard = 0.8
	measured := 0
	for _, name := range []string{"dome", "tube"} {
		voice, ok := sounds.FindVoice(name)
		require.True(t, ok)
		full, soft := voice.Stroke(sounds.Rate, 1), voice.Stroke(sounds.Rate, hard)
		here := p.softened(full, hard)
		for _, partial := range voice.Strongest(6) {
			hz := voice.Base * partial.Ratio
			if hz > 750 && hz < 3000 {
				continue
			}
			measured++
			require.InDelta(t, decibels(soft, hz), decibels(here, hz), 0.5, "%s at %.0f Hz", name, hz)
			require.Less(t, decibels(here, hz), decibels(full, hz)-0.7, "%s at %.0f Hz is softer than a full blow", name, hz)
		}
	}
	require.GreaterOrEqual(t, measured, 4)
}

// softened lets the page strike samples with a force, by an OfflineAudioContext.
func (p *tab) softened(samples []float32, hard float64) []float32 {
	p.t.Helper()
	eval[int](p, fmt.Sprintf(`(() => {
		window.heardHere = null;
		import("/static/strike.mjs").then(({ strike }) => {
			const given = new Float32Array(%s);
			const paper = new OfflineAudioContext(1, given.length, %d);
			const buffer = paper.createBuffer(1, given.length, %d);
			buffer.getChannelData(0).set(given);
			strike(paper, paper.destination, buffer, 0, %v, 1);
			return paper.startRendering();
		}).then((sound) => {
			const bytes = new Uint8Array(sound.getChannelData(0).buffer);
			let text = "";
			for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
			window.heardHere = btoa(text);
		});
		return 0;
	})()`, written(samples), sounds.Rate, sounds.Rate, hard))
	return p.samples("window.heardHere")
}

func written(samples []float32) string {
	text := "["
	for _, s := range samples[:sounds.Rate/4] {
		text += fmt.Sprintf("%g,", s)
	}
	return text + "]"
}

// decibels is how loud one tone is in the first quarter of a second.
func decibels(samples []float32, hz float64) float64 {
	var re, im float64
	for i, s := range samples[:sounds.Rate/4] {
		sin, cos := math.Sincos(2 * math.Pi * hz * float64(i) / sounds.Rate)
		re, im = re+float64(s)*cos, im+float64(s)*sin
	}
	return 20 * math.Log10(math.Hypot(re, im))
}

// However many bells ring at once the mix stays under −1 dBFS, and a quiet sum passes as it is, at seven tenths.
func TestMixIsBentNotCut(t *testing.T) {
	e := open(t, "lathermoor", nil)
	p := tablet(t, browser(t), "the door", e.at, 1024, 768)
	eval[int](p, `(() => { import("/static/strike.mjs").then(({ mix, strike }) => {
		const paper = new OfflineAudioContext(1, 4800, 48000);
		const into = mix(paper).into;
		const buffer = paper.createBuffer(1, 480, 48000);
		buffer.getChannelData(0).fill(0.4);
		for (const [when, bells] of [[0, 1], [0.02, 2], [0.04, 3], [0.06, 12], [0.08, 40]])
			for (let i = 0; i < bells; i++) strike(paper, into, buffer, when, 1, 1);
		return paper.startRendering();
	}).then((s) => { window.sums = [240, 1200, 2160, 3120, 4080].map((i) => s.getChannelData(0)[i]); }); return 0; })()`)
	p.until("window.sums")
	sums := eval[[]float64](p, "window.sums")
	require.InDelta(t, 0.28, sums[0], 1e-4)
	require.InDelta(t, 0.56, sums[1], 1e-4)
	require.IsIncreasing(t, sums[:4])
	require.InDelta(t, sums[3], sums[4], 1e-3)
	for _, s := range sums {
		require.Less(t, s, math.Pow(10, -1.0/20))
	}
}

// B1: a clock that is steered while a code is being rung does not bend the code; between codes it is believed again, and
// a clock that was far out is put right at once.
func TestSteeringDoesNotBendACode(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "the door", e.at, 1024, 768)
	eval[int](p, `(() => { import("/static/bells.mjs").then(({ Bells }) => {
		const clock = { offset: 1000 };
		const bells = new Bells(clock, { bells: {} });
		const real = performance.now;
		const at = (here, stamp, offset) => {
			performance.now = () => here;
			clock.offset = offset;
			return bells.press(stamp);
		};
		window.pressed = [at(500, 500, 1000), at(1760, 1750, 1005), at(2000, 1990, 1009), at(4000, 4000, 1010), at(4200, 4200, 1300), at(9000, 20, 1300)];
		performance.now = real;
	}); return 0; })()`)
	p.until("window.pressed")
	require.Equal(t, []float64{1500, 2750, 2990, 5010, 5500, 10300}, eval[[]float64](p, "window.pressed"))
}
