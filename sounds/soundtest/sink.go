//go:build linux

package soundtest

import (
	"encoding/binary"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"
)

// sinkDue asks for the tests that need a sink. They take real time, on a machine that has little else to do, and need
// PulseAudio (Debian's packages pulseaudio, pulseaudio-utils and libasound2-plugins):
//
//	TAILLAMP_SINK=1 go test -p 1 -tags speaker ./sounds/speaker ./cmd/taillamp
const sinkDue = "TAILLAMP_SINK"

const sinkRate = 48000 // hertz

// A Sink is a sound server of a test's own. What the program plays on this machine's loudspeaker goes there, in real
// time and unheard, and is recorded.
type Sink struct {
	mu      sync.Mutex
	samples []float32
	began   time.Time // when the first sample was in the air: the earliest that any chunk allows
}

// StartSink starts a sound server with a silent loudspeaker and listens to it until the test ends. It must be called
// before the loudspeaker is opened.
func StartSink(t testing.TB) *Sink {
	t.Helper()
	if os.Getenv(sinkDue) == "" {
		t.Skip(sinkDue + " is not set")
	}
	for _, tool := range []string{"pulseaudio", "parec"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("%s is set but %s is not installed", sinkDue, tool)
		}
	}
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o700); err != nil { // the server refuses a folder that others may enter
		t.Fatal(err)
	}
	socket := filepath.Join(dir, "pulse.sock")
	t.Setenv("XDG_RUNTIME_DIR", dir)
	t.Setenv("HOME", dir)
	t.Setenv("PULSE_SERVER", "unix:"+socket)
	start(t, exec.Command("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
		"--load=module-native-protocol-unix socket="+socket+" auth-anonymous=1",
		"--load=module-null-sink sink_name=hush rate=48000 channels=2 format=s16le"))
	await(t, func() bool { _, err := os.Stat(socket); return err == nil })

	listener := exec.Command("parec", "-d", "hush.monitor", "--rate=48000", "--channels=1", "--format=s16le", "--latency-msec=5")
	out, err := listener.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	start(t, listener)
	s := &Sink{}
	go s.listen(out) // until the listener has ended with the test
	await(t, func() bool { return s.long() > sinkRate/10 })
	return s
}

// start starts a program and ends it with the test.
func start(t testing.TB, c *exec.Cmd) {
	t.Helper()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = c.Process.Signal(syscall.SIGTERM)
		_ = c.Wait()
	})
}

// await waits up to ten seconds for a program of another's making, whose clock nobody can move by hand.
func await(t testing.TB, ready func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !ready(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the sound server does not start")
		}
	}
}

func (s *Sink) listen(r io.Reader) {
	buf := make([]byte, 960)
	for {
		n, err := io.ReadFull(r, buf)
		if err != nil {
			return
		}
		s.take(buf[:n], time.Now())
	}
}

func (s *Sink) take(chunk []byte, now time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i := 0; i+1 < len(chunk); i += 2 {
		s.samples = append(s.samples, float32(int16(binary.LittleEndian.Uint16(chunk[i:])))/32768)
	}
	began := now.Add(-time.Duration(len(s.samples)) * time.Second / sinkRate)
	if s.began.IsZero() || began.Before(s.began) {
		s.began = began
	}
}

func (s *Sink) long() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.samples)
}

// Heard gives the moments of the strokes that came out so far.
func (s *Sink) Heard() []time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	var at []time.Time
	for _, o := range Onsets(s.samples, sinkRate) {
		at = append(at, s.began.Add(o))
	}
	return at
}

// Lateness gives how long after each strike it was heard: the first stroke within 150 ms of it. A strike that was not
// heard is given that much. more is how many strokes belong to no strike: a device that runs dry on a busy machine
// breaks a ringing bell in two.
func Lateness(struck, heard []time.Time) (late []time.Duration, more int) {
	const longest = 150 * time.Millisecond
	more = len(heard)
	for _, at := range struck {
		found := longest
		for _, h := range heard {
			if d := h.Sub(at); d >= 0 && d < found {
				found = d
			}
		}
		if found < longest {
			more--
		}
		late = append(late, found)
	}
	return late, more
}

// Percentile is the length of time that so many per cent of the lengths do not pass.
func Percentile(d []time.Duration, percent int) time.Duration {
	d = slices.Sorted(slices.Values(d))
	return d[min(len(d)-1, len(d)*percent/100)].Round(100 * time.Microsecond)
}
