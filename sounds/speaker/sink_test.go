//go:build speaker && cgo && linux

package speaker

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
	"taillamp/sounds/soundtest"
)

// These tests need PulseAudio (packages pulseaudio, pulseaudio-utils, libasound2-plugins). They are skipped
// where it is absent, unless TAILLAMP_SINK=1 is set, which makes them due:
//
//	TAILLAMP_SINK=1 go test -tags speaker ./sounds/speaker
const sinkDue = "TAILLAMP_SINK"

// lonely names, for a test binary that runs itself again, the kind of device it is to find.
const lonely = "TAILLAMP_TEST_DEVICE"

// A sink is a sound server of the test's own, whose loudspeaker is recorded.
type sink struct {
	mu      sync.Mutex
	samples []float32
	offset  time.Time // when sample 0 was in the air: the earliest that any chunk allows
}

// startSink starts a sound server with a silent loudspeaker in real time and listens to it.
func startSink(t *testing.T) *sink {
	t.Helper()
	for _, tool := range []string{"pulseaudio", "parec"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv(sinkDue) != "" {
				t.Fatalf("%s is set but %s is not installed", sinkDue, tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o700))
	socket := filepath.Join(dir, "pulse.sock")
	t.Setenv("XDG_RUNTIME_DIR", dir)
	t.Setenv("HOME", dir)
	t.Setenv("PULSE_SERVER", "unix:"+socket)
	run(t, exec.Command("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
		"--load=module-native-protocol-unix socket="+socket+" auth-anonymous=1",
		"--load=module-null-sink sink_name=hush rate=48000 channels=2 format=s16le"))
	require.Eventually(t, func() bool { _, err := os.Stat(socket); return err == nil }, 5*time.Second, 20*time.Millisecond)

	listener := exec.Command("parec", "-d", "hush.monitor", "--rate=48000", "--channels=1", "--format=s16le", "--latency-msec=5")
	out, err := listener.StdoutPipe()
	require.NoError(t, err)
	run(t, listener)
	s := &sink{}
	go s.listen(out)
	require.Eventually(t, func() bool { return s.long() > sounds.Rate/10 }, 5*time.Second, 20*time.Millisecond)
	return s
}

// run starts a program and ends it with the test.
func run(t *testing.T, c *exec.Cmd) {
	t.Helper()
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		c.Process.Signal(syscall.SIGTERM)
		c.Wait()
	})
}

func (s *sink) listen(r io.Reader) {
	buf := make([]byte, 960)
	for {
		n, err := io.ReadFull(r, buf)
		if err != nil {
			return
		}
		now := time.Now()
		s.mu.Lock()
		for i := 0; i+1 < n; i += 2 {
			s.samples = append(s.samples, float32(int16(binary.LittleEndian.Uint16(buf[i:])))/32768)
		}
		began := now.Add(-time.Duration(len(s.samples)) * time.Second / sounds.Rate)
		if s.offset.IsZero() || began.Before(s.offset) {
			s.offset = began
		}
		s.mu.Unlock()
	}
}

func (s *sink) long() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.samples)
}

// heard gives the moments of the strokes that came out.
func (s *sink) heard() []time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	var at []time.Time
	for _, o := range soundtest.Onsets(s.samples, sounds.Rate) {
		at = append(at, s.offset.Add(o))
	}
	return at
}

// Story K7: the shed's loudspeaker rings within 60 ms (p95) of the server having the beat, and in its rhythm.
func TestTheLoudspeakerRingsInTime(t *testing.T) {
	s := startSink(t)
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
	heard := s.heard()
	require.Len(t, heard, len(struck), "strokes that came out of the loudspeaker")
	require.NoError(t, speaker.Lost())

	var late, bent []time.Duration
	for i := range heard {
		late = append(late, heard[i].Sub(struck[i]))
		if !first[i] {
			bent = append(bent, (heard[i].Sub(heard[i-1]) - struck[i].Sub(struck[i-1])).Abs())
		}
	}
	fmt.Printf("loudspeaker: %d beats, strike to sound p50 %v p95 %v, gap error p95 %v most %v\n",
		len(late), quantile(late, 50), quantile(late, 95), quantile(bent, 95), slices.Max(bent))
	require.LessOrEqual(t, quantile(late, 95), 60*time.Millisecond)
	require.Greater(t, slices.Min(late), time.Duration(0), "heard before it was struck: the test's own clock is wrong")
	require.LessOrEqual(t, quantile(bent, 95), 15*time.Millisecond)
}

func quantile(d []time.Duration, percent int) time.Duration {
	d = slices.Sorted(slices.Values(d))
	return d[min(len(d)-1, len(d)*percent/100)].Round(100 * time.Microsecond)
}

// A process opens one device in its life, so each absent kind is met by a process of its own.
func TestAnAbsentDeviceIsOneSentence(t *testing.T) {
	for name, config := range map[string]string{
		"absent":  "",
		"nowhere": "pcm.!default { type null }\n",
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
			require.NotContains(t, string(out), "ALSA lib", "the sound library writes no lines of its own")
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
