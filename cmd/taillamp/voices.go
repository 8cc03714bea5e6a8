package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"taillamp/block"
	"taillamp/sounds"
)

// runVoices lists the voices of the bells, draws them, and writes them as sound files.
func runVoices(_ context.Context, args []string, std stdio) int {
	fs := newFlags("voices")
	names := fs.String("voice", "", "")
	ring := fs.String("ring", "", "")
	out := fs.String("out", "", "")
	asJSON := fs.Bool("json", false, "")
	if _, err := parse(fs, args, 0, 0); err != nil {
		return complain(std, err)
	}
	voices, err := findVoices(*names)
	if err != nil {
		return complain(std, err)
	}
	switch {
	case *ring != "":
		err = ringCode(voices, *ring, *out, std)
	case *out != "":
		err = keepVoices(voices, *names == "", *out, std)
	default:
		err = listVoices(voices, *names == "", *asJSON, std)
	}
	if err != nil {
		return complain(std, err)
	}
	return exitGood
}

// findVoices finds voices by their names, divided by commas; without names it gives all.
func findVoices(names string) ([]sounds.Voice, error) {
	if names == "" {
		return sounds.Voices(), nil
	}
	var voices []sounds.Voice
	for name := range strings.SplitSeq(names, ",") {
		v, ok := sounds.FindVoice(strings.TrimSpace(name))
		if !ok {
			return nil, fault{code: exitMaterial, what: fmt.Sprintf("no voice is called %q", name),
				hint: "write " + list(voiceNames()) + ", or one of these with its steps up or down such as dome+4"}
		}
		voices = append(voices, v)
	}
	return voices, nil
}

func voiceNames() []string {
	var names []string
	for _, v := range sounds.Voices() {
		names = append(names, v.Name)
	}
	return names
}

// ringCode writes one code, rung on one voice in a good hand.
func ringCode(voices []sounds.Voice, code, out string, std stdio) error {
	beats, err := block.ParseBeats(code)
	if err != nil {
		return misuse("write --ring 3-1", "voices: --ring cannot be %q", code)
	}
	if len(voices) != 1 {
		return misuse("write --voice dome", "voices: --ring needs one --voice")
	}
	if out == "" {
		return misuse("write --out code.wav", "voices: --ring needs --out")
	}
	if !isDir(out) && filepath.Ext(out) != ".wav" {
		return misuse("write --out code.wav", "voices: a rung code is a .wav file; --out cannot be %q", out)
	}
	if isDir(out) {
		out = filepath.Join(out, voices[0].Name+"-"+beats.String()+".wav")
	}
	return keepSound(out, sounds.Ring(voices[0], sounds.Rate, beats, sounds.GoodHand()), std)
}

// keepVoices writes voices to one file, by its ending a sound or a drawing, or to a folder: a sound and a drawing of
// each, and where all are meant, the noises of the apparatus and a drawing of all voices below one another.
func keepVoices(voices []sounds.Voice, all bool, out string, std stdio) error {
	switch ext := filepath.Ext(out); {
	case isDir(out) || ext == "":
		return fillFolder(voices, all, out, std)
	case ext == ".svg":
		return keepDrawing(out, voices, std)
	case ext == ".wav" && len(voices) == 1:
		return keepSound(out, voices[0].Stroke(sounds.Rate, 1), std)
	case ext == ".wav":
		return misuse("write --voice dome, or name a folder with --out", "voices: one .wav file holds one voice")
	}
	return misuse("write --out dome.wav, --out dome.svg or --out FOLDER", "voices: --out cannot be %q", out)
}

func fillFolder(voices []sounds.Voice, all bool, dir string, std stdio) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return unwritable(dir, err)
	}
	for _, v := range voices {
		if err := keepSound(filepath.Join(dir, v.Name+".wav"), v.Stroke(sounds.Rate, 1), std); err != nil {
			return err
		}
		if err := keepDrawing(filepath.Join(dir, v.Name+".svg"), []sounds.Voice{v}, std); err != nil {
			return err
		}
	}
	if !all {
		return nil
	}
	for _, n := range sounds.Noises() {
		if err := keepSound(filepath.Join(dir, n.Name+".wav"), n.Sound(sounds.Rate), std); err != nil {
			return err
		}
	}
	return keepDrawing(filepath.Join(dir, "voices.svg"), voices, std)
}

func keepSound(file string, samples []float32, std stdio) error {
	var b bytes.Buffer
	if err := sounds.WriteWAV(&b, sounds.Rate, samples); err != nil {
		return err
	}
	return keepFile(file, b.Bytes(), std)
}

func keepDrawing(file string, voices []sounds.Voice, std stdio) error {
	var b bytes.Buffer
	if err := sounds.WriteDrawing(&b, voices...); err != nil {
		return err
	}
	return keepFile(file, b.Bytes(), std)
}

// keepFile writes a file and says so.
func keepFile(file string, content []byte, std stdio) error {
	if err := os.WriteFile(file, content, 0o644); err != nil {
		return unwritable(file, err)
	}
	_, err := fmt.Fprintf(std.Out, "%s, %d bytes\n", file, len(content))
	return err
}

func isDir(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// voiceJSON is a line of `voices --json`.
type voiceJSON struct {
	Name     string        `json:"name"`
	Body     string        `json:"body"`
	Says     string        `json:"says"`
	Hertz    float64       `json:"hertz"` // the note that the ear takes
	Seconds  float64       `json:"seconds"`
	Loudness float64       `json:"loudness"` // LKFS of the first 400 ms
	Source   string        `json:"source"`
	Grade    string        `json:"grade"`
	Partials []partialJSON `json:"partials"`
}

type partialJSON struct {
	Hertz float64 `json:"hertz"`
	Gain  float64 `json:"gain"`
	T60   float64 `json:"t60"` // seconds until it has fallen by 60 dB
}

// listVoices says what voices there are. Asked for by name, a voice tells its partials too; of all, the noises of
// the apparatus follow.
func listVoices(voices []sounds.Voice, all, asJSON bool, std stdio) error {
	w := &errWriter{w: std.Out}
	for _, v := range voices {
		switch {
		case asJSON:
			writeJSON(w, voiceOf(v))
		default:
			showVoice(w, v)
			if !all {
				showPartials(w, v)
			}
		}
	}
	if all && !asJSON {
		fmt.Fprintln(w)
		for _, n := range sounds.Noises() {
			fmt.Fprintf(w, "%-9s %s\n", n.Name, n.Says)
		}
	}
	return w.err
}

func showVoice(w io.Writer, v sounds.Voice) {
	fmt.Fprintf(w, "%-9s %-11s %4.0f Hz %-4s %.2f s  %s\n", v.Name, v.Body, v.Heard, note(v.Heard), v.Long().Seconds(), v.Says)
}

func showPartials(w io.Writer, v sounds.Voice) {
	for _, l := range wrap("ratios: "+source(v.Source, v.Grade), codesWidth-10) {
		fmt.Fprintf(w, "%10s%s\n", "", l)
	}
	for _, p := range v.Partials {
		fmt.Fprintf(w, "%10s%7.1f Hz   gain %.2f   falls by 60 dB in %.2f s\n", "", v.Base*p.Ratio, p.Gain, p.T60)
	}
}

func voiceOf(v sounds.Voice) voiceJSON {
	round := func(x float64) float64 { return math.Round(100*x) / 100 }
	j := voiceJSON{Name: v.Name, Body: v.Body, Says: v.Says, Hertz: round(v.Heard), Seconds: round(v.Long().Seconds()),
		Loudness: round(sounds.Loudness(v.Stroke(sounds.Rate, 1))), Source: v.Source, Grade: v.Grade}
	for _, p := range v.Partials {
		j.Partials = append(j.Partials, partialJSON{round(v.Base * p.Ratio), p.Gain, p.T60})
	}
	return j
}

// note is the nearest note of the piano, A4 being 440 Hz.
func note(hz float64) string {
	keys := []string{"C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"}
	n := int(math.Round(12*math.Log2(hz/440))) + 69 // MIDI's number of the key, of which A4 is 69
	return fmt.Sprintf("%s%d", keys[n%12], n/12-1)
}
