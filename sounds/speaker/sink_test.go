//go:build speaker && cgo && linux

package speaker

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
	"taillamp/sounds/soundtest"
)

// lonely names, for a test binary that runs itself again, the kind of device it is to find.
const lonely = "TAILLAMP_TEST_DEVICE"

// Story K7: the shed's loudspeaker rings within 60 ms (p95) of the server having the beat, and in its rhythm.
func TestTheLoudspeakerRingsInTime(t *testing.T) {
	s := soundtest.StartSink(t)
	speaker, err := Open(sounds.Rate)
	require.NoError(t, err)
	defer speaker.Close()
	time.Sleep(time.Second)

	voices := sounds.Voices()
	hand := sounds.HandOf(250 * time.Millisecond)
	var struck []time.Time
	var first []bool // of its code: the gap before it is not rung by the hand
	for i, code := range [][]uint8{{3, 1}, {1, 3, 1}, {5, 5, 5}, {16}, {2, 1}, {4}} {
		start := time.Now()
		for n, at := range hand.Times(code) {
			time.Sleep(time.Until(start.Add(at)))
			struck = append(struck, time.Now())
			first = append(first, n == 0)
			speaker.Strike(voices[i%len(voices)], 0)
		}
		time.Sleep(time.Second)
	}
	heard := s.Heard()
	require.NoError(t, speaker.Lost())

	late, broken := soundtest.Lateness(struck, heard)
	var bent []time.Duration
	for i := range late {
		if !first[i] {
			bent = append(bent, (late[i] - late[i-1]).Abs())
		}
	}
	fmt.Printf("loudspeaker: %d beats, strike to sound p50 %v p95 %v, gap error p95 %v most %v; broken in two %d\n",
		len(late), soundtest.Percentile(late, 50), soundtest.Percentile(late, 95), soundtest.Percentile(bent, 95), slices.Max(bent), broken)
	require.LessOrEqual(t, soundtest.Percentile(late, 95), 60*time.Millisecond)
	require.LessOrEqual(t, soundtest.Percentile(bent, 95), 15*time.Millisecond)
}

// A process opens one device in its life, so each absent kind is met by a process of its own.
func TestAnAbsentDeviceIsOneSentence(t *testing.T) {
	for name, config := range map[string]string{
		"absent":  "",
		"nowhere": "pcm.!default { type null }\n",
		"jack":    "pcm.!default { type jack\n playback_ports { 0 system:playback_1 } }\n",
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "asound.conf")
			require.NoError(t, os.WriteFile(path, []byte(config), 0o600))
			c := exec.Command(os.Args[0], "-test.run=^TestOpenAlone$")
			c.Env = append(os.Environ(), lonely+"="+name, "ALSA_CONFIG_PATH="+path, "PULSE_SERVER=unix:"+dir+"/none",
				"HOME="+dir, "XDG_RUNTIME_DIR="+dir)
			out, err := c.CombinedOutput()
			require.NoError(t, err, string(out))
			for _, line := range []string{"ALSA", "jack", "Jack", "Cannot connect"} {
				require.NotContains(t, strings.ReplaceAll(string(out), t.Name(), ""), line, "the sound library writes no lines of its own")
			}
		})
	}
}

// TestOpenAlone is the other half of TestAnAbsentDeviceIsOneSentence.
func TestOpenAlone(t *testing.T) {
	if os.Getenv(lonely) == "" {
		t.Skip("run by TestAnAbsentDeviceIsOneSentence")
	}
	began := time.Now()
	s, err := Open(sounds.Rate)
	require.Nil(t, s)
	require.ErrorIs(t, err, ErrNoSpeaker)
	require.Less(t, time.Since(began), 3*time.Second)
	if errors.Is(err, ErrNotBuilt) {
		t.Fatal("this build has a loudspeaker")
	}
}
